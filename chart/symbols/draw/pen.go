package draw

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"kitwright/chart/symbols"
)

// All lengths here are hundredths of half the box: x to the right, y down,
// from -100 to 100. At the usual size 34 is a stroke of 0.3 mm and 28 a gap
// of 0.25 mm, the least that prints and reads well.

type (
	point = symbols.Point
	path  = symbols.Path
	paths = []symbols.Path
)

// one makes a path of contours given in hundredths.
func one(contours ...[]point) path {
	p := path{}
	for _, c := range contours {
		out := make([]point, len(c))
		for i, v := range c {
			out[i] = point{X: v.X / 100, Y: v.Y / 100}
		}
		p = append(p, out)
	}
	return p
}

// poly is the polygon with corners x, y, x, y, ...
func poly(xy ...float64) path { return one(corners(xy...)) }

func corners(xy ...float64) []point {
	c := make([]point, len(xy)/2)
	for i := range c {
		c[i] = point{X: xy[2*i], Y: xy[2*i+1]}
	}
	return c
}

// rect is the rectangle between two opposite corners.
func rect(x0, y0, x1, y1 float64) path { return poly(x0, y0, x1, y0, x1, y1, x0, y1) }

// frame is a rectangle with a smaller one cut out.
func frame(x0, y0, x1, y1, w float64) path {
	return one(corners(x0, y0, x1, y0, x1, y1, x0, y1),
		corners(x0+w, y0+w, x1-w, y0+w, x1-w, y1-w, x0+w, y1-w))
}

// arc gives the points of an ellipse's arc from angle a to b in degrees,
// 0 to the right and 90 down, ends included.
func arc(x, y, rx, ry, a, b float64) []point {
	n := max(2, int(math.Ceil(math.Abs(b-a)/360*48)))
	c := make([]point, n+1)
	for i := range c {
		sin, cos := math.Sincos((a + (b-a)*float64(i)/float64(n)) * math.Pi / 180)
		c[i] = point{X: x + rx*cos, Y: y + ry*sin}
	}
	return c
}

func circle(x, y, r float64) []point { return arc(x, y, r, r, 0, 360)[1:] }

func disc(x, y, r float64) path         { return one(circle(x, y, r)) }
func oval(x, y, rx, ry float64) path    { return one(arc(x, y, rx, ry, 0, 360)[1:]) }
func ring(x, y, outer, in float64) path { return one(circle(x, y, outer), circle(x, y, in)) }

// pie is the slice of a disc from angle a to b.
func pie(x, y, r, a, b float64) path { return one(append(arc(x, y, r, r, a, b), point{X: x, Y: y})) }

// bow is the slice of a ring from angle a to b.
func bow(x, y, outer, in, a, b float64) path {
	return one(append(arc(x, y, outer, outer, a, b), arc(x, y, in, in, b, a)...))
}

// bar is a straight stroke of width w with square ends.
func bar(x0, y0, x1, y1, w float64) path {
	l := math.Hypot(x1-x0, y1-y0)
	dx, dy := (y1-y0)/l*w/2, (x0-x1)/l*w/2
	return poly(x0+dx, y0+dy, x1+dx, y1+dy, x1-dx, y1-dy, x0-dx, y0-dy)
}

// dots is a disc of radius r at each x, y.
func dots(r float64, xy ...float64) (p paths) {
	for _, c := range corners(xy...) {
		p = append(p, disc(c.X, c.Y, r))
	}
	return p
}

// star has n points at distance outer and notches at in; a gives
// the direction of the first point.
func star(x, y float64, n int, outer, in, a float64) path {
	var c []point
	for i := range 2 * n {
		r := outer
		if i%2 == 1 {
			r = in
		}
		sin, cos := math.Sincos((a + 180*float64(i)/float64(n)) * math.Pi / 180)
		c = append(c, point{X: x + r*cos, Y: y + r*sin})
	}
	return one(c)
}

// rosette is a round flower of n petals, whose edge swings between in and
// outer.
func rosette(n int, outer, in float64) path {
	var c []point
	for i := range 12 * n {
		a := 2 * math.Pi * float64(i) / float64(12*n)
		r := in + (outer-in)*math.Sqrt(math.Abs(math.Cos(float64(n)*a/2)))
		c = append(c, point{X: r * math.Sin(a), Y: -r * math.Cos(a)})
	}
	return one(c)
}

// cog is a wheel with n teeth from in to outer.
func cog(n int, outer, in float64) path {
	var c []point
	step := 360 / float64(n)
	for i := range n {
		for _, t := range [][2]float64{{-.30, in}, {-.20, outer}, {.20, outer}, {.30, in}} {
			sin, cos := math.Sincos((float64(i) + t[0]) * step * math.Pi / 180)
			c = append(c, point{X: t[1] * sin, Y: -t[1] * cos})
		}
	}
	return one(c)
}

// hole adds contours to a path, cut out of it.
func hole(p path, cut ...path) path {
	for _, c := range cut {
		p = append(p, c...)
	}
	return p
}

// pen reads an outline in the words of SVG paths: M, L, C and Q with absolute
// coordinates, and Z.
func pen(d string) path {
	var p [][]point
	var op string
	var v []float64
	flush := func() {
		n := len(p) - 1
		switch {
		case op == "M":
			p = append(p, corners(v[:2]...))
			n++
			p[n] = append(p[n], corners(v[2:]...)...)
		case op == "L":
			p[n] = append(p[n], corners(v...)...)
		case op == "C":
			for ; len(v) >= 6; v = v[6:] {
				p[n] = append(p[n], cubic(p[n][len(p[n])-1], corners(v[:6]...))...)
			}
		case op == "Q":
			for ; len(v) >= 4; v = v[4:] {
				a, c := p[n][len(p[n])-1], corners(v[:4]...)
				p[n] = append(p[n], cubic(a, []point{between(a, c[0]), between(c[1], c[0]), c[1]})...)
			}
		}
		v = nil
	}
	for _, w := range strings.Fields(strings.ReplaceAll(d, ",", " ")) {
		if f, err := strconv.ParseFloat(w, 64); err == nil {
			v = append(v, f)
			continue
		}
		if !strings.Contains("MLCQZ", w) {
			panic(fmt.Sprintf("draw: %q in an outline", w))
		}
		flush()
		op = w
	}
	flush()
	for i, c := range p {
		if len(c) > 1 && c[0] == c[len(c)-1] {
			p[i] = c[:len(c)-1]
		}
	}
	return one(p...)
}

// between is two thirds of the way from a to b.
func between(a, b point) point { return point{X: a.X + (b.X-a.X)*2/3, Y: a.Y + (b.Y-a.Y)*2/3} }

// cubic gives twelve points of a Bezier curve after its start a.
func cubic(a point, c []point) (out []point) {
	for k := 1; k <= 12; k++ {
		t := float64(k) / 12
		u := 1 - t
		w := [4]float64{u * u * u, 3 * t * u * u, 3 * t * t * u, t * t * t}
		out = append(out, point{
			X: w[0]*a.X + w[1]*c[0].X + w[2]*c[1].X + w[3]*c[2].X,
			Y: w[0]*a.Y + w[1]*c[0].Y + w[2]*c[1].Y + w[3]*c[2].Y,
		})
	}
	return out
}

// each returns the paths with every point moved.
func each(p paths, f func(point) point) (out paths) {
	for _, a := range p {
		var q path
		for _, c := range a {
			d := make([]point, len(c))
			for i, v := range c {
				d[i] = f(v)
			}
			q = append(q, d)
		}
		out = append(out, q)
	}
	return out
}

// turned returns the paths turned right by degrees.
func turned(degrees float64, p ...path) paths {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	return each(p, func(v point) point { return point{X: v.X*cos - v.Y*sin, Y: v.X*sin + v.Y*cos} })
}

// both returns the paths and their mirror image, left for right.
func both(p ...path) paths {
	return append(append(paths{}, p...), mirrored(p)...)
}

// around returns n copies of the paths, turned about the middle.
func around(n int, p ...path) (out paths) {
	for i := range n {
		out = append(out, turned(360*float64(i)/float64(n), p...)...)
	}
	return out
}

func join(lists ...paths) (out paths) {
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}

// fit moves the drawing to the middle of the box and, if it sticks out,
// shrinks it.
func fit(p paths) paths {
	lo, hi := point{X: math.Inf(1), Y: math.Inf(1)}, point{X: math.Inf(-1), Y: math.Inf(-1)}
	each(p, func(v point) point {
		lo = point{X: min(lo.X, v.X), Y: min(lo.Y, v.Y)}
		hi = point{X: max(hi.X, v.X), Y: max(hi.Y, v.Y)}
		return v
	})
	half := max(1, (hi.X-lo.X)/2, (hi.Y-lo.Y)/2)
	return each(p, func(v point) point {
		return point{X: (v.X - (lo.X+hi.X)/2) / half, Y: (v.Y - (lo.Y+hi.Y)/2) / half}
	})
}
