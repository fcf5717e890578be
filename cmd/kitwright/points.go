package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/palettes/gauge"
	"kitwright/palettes/intake"
)

// textValue is a flag's value for a word with a name of its own in the help.
type textValue struct {
	to   *string
	kind string
}

func (t textValue) String() string {
	if t.to == nil {
		return ""
	}
	return *t.to
}
func (t textValue) Set(s string) error { *t.to = s; return nil }
func (t textValue) Type() string       { return t.kind }

// whiteValue is a flag's value for a white; none is what the file says.
type whiteValue struct{ to *intake.White }

func (w whiteValue) String() string {
	if w.to == nil {
		return ""
	}
	return string(*w.to)
}

func (w whiteValue) Set(s string) error {
	switch to := intake.White(strings.ToLower(strings.TrimSpace(s))); to {
	case intake.AnyWhite, intake.D50, intake.D65:
		*w.to = to
		return nil
	}
	return say.Usage("instruments and printers use d50, screens d65", "it takes d50 or d65, not %q", clipped(s))
}

func (w whiteValue) Type() string { return "d50|d65" }

// numberValue is a flag's value for a finite number.
type numberValue struct{ to *float64 }

func (n numberValue) String() string {
	if n.to == nil {
		return ""
	}
	return strconv.FormatFloat(*n.to, 'g', -1, 64)
}

func (n numberValue) Set(s string) error {
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return say.Usage("", "%q is not a number", clipped(s))
	}
	*n.to = v
	return nil
}

func (n numberValue) Type() string { return "NUMBER" }

// fourPoints are corners in pixels of the photo.
type fourPoints [4]gauge.Point

func (p fourPoints) scaled(by float64) (out [4]gauge.Point) {
	for i, q := range p {
		out[i] = gauge.Point{X: q.X * by, Y: q.Y * by}
	}
	return out
}

// pointList is a flag's value for corners, those of several photos with
// semicolons between them.
type pointList []fourPoints

func (p *pointList) String() string {
	var sets []string
	for _, four := range *p {
		var parts []string
		for _, q := range four {
			parts = append(parts, strconv.FormatFloat(q.X, 'g', -1, 64)+","+strconv.FormatFloat(q.Y, 'g', -1, 64))
		}
		sets = append(sets, strings.Join(parts, ","))
	}
	return strings.Join(sets, ";")
}

func (p *pointList) Set(s string) error {
	var out pointList
	for _, set := range strings.Split(s, ";") {
		parts := strings.Split(set, ",")
		var four fourPoints
		if len(parts) != 8 {
			return say.Usage("", "it takes 8 numbers, x,y of each corner in pixels, clockwise from the top left, not %q", clipped(set))
		}
		for i, part := range parts {
			v, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				return say.Usage("", "%q is not a number of pixels", clipped(part))
			}
			if i%2 == 0 {
				four[i/2].X = v
			} else {
				four[i/2].Y = v
			}
		}
		out = append(out, four)
	}
	*p = append(*p, out...)
	return nil
}

func (p *pointList) Type() string { return "X,Y,X,Y,..." }

func clipped(s string) string {
	r := []rune(s)
	return string(r[:min(len(r), 80)])
}

// readLab reads L,a,b.
func readLab(s string) (c lab.Color, err error) {
	var rest string
	if n, _ := fmt.Sscanf(s+" ", "%g,%g,%g%s", &c.L, &c.A, &c.B, &rest); n != 3 || !(c.L > 60 && c.L <= 100 && math.Abs(c.A) < 20 && math.Abs(c.B) < 20) {
		return c, say.Usage("white paper is near 95,0,-2", "{paper-color} takes L,a,b of white paper, not %q", clipped(s))
	}
	return c, nil
}
