package gauge

import (
	"fmt"
	"image"
	"math"

	"kitwright/internal/par"
	"kitwright/internal/say"
	"kitwright/lab"
)

// Options says what is known about a picture. The zero value is a picture
// without a target.
type Options struct {
	Paper         lab.Color // the white that the drills lie on; usual paper where it is the zero value
	Target        Target
	TargetCorners [4]Point // middles of its corner patches in pixels: dark skin, bluish green, black, white
}

// usualPaper is white paper with a little brightener, as measured on stocks
// for printing; a wrong guess costs .1 to .6 without a target, nothing with
// one.
var usualPaper = lab.Color{L: 95, A: 0, B: -2}

// Certainty is how far a color can be trusted.
type Certainty string

// The certainties.
const (
	Good Certainty = "good"
	Fair Certainty = "fair"
	Poor Certainty = "poor"
)

// Read is a color as it was read.
type Read struct {
	Patch
	Lab       lab.Color
	Certainty Certainty
	Why       string // why it is not good

	clipped bool
}

// Reading is what a picture shows of a sheet.
type Reading struct {
	Reads    []Read
	Warnings []string // sentences without a stop
	Model    string   // "" without a target, else what was fitted
	Mean     float64  // expected error with a target: of patches left out
	P95      float64
	Used     int // patches of the target

	sheet  *Sheet
	h      homography
	target homography
	opt    Options
	seen   trouble
}

// Measure reads the colors of a sheet from a picture, whose corners are given
// in pixels, clockwise from the top left.
func (s *Sheet) Measure(img *image.NRGBA, corners [4]Point, opt Options) (*Reading, error) {
	p := newPicture(img)
	h, err := s.place(p, corners)
	if err != nil {
		return nil, err
	}
	if opt.Paper == (lab.Color{}) {
		opt.Paper = usualPaper
	}
	r := &Reading{sheet: s, h: h, opt: opt}
	modes := make([]spotColor, len(s.Patches))
	windows := make([][][3]float64, len(s.Patches))
	par.Rows(len(s.Patches), func(i int) {
		windows[i] = p.window(h, s.Patches[i].shrunk(0.9))
		modes[i] = mode(windows[i])
	})
	white := s.readWhites(p, h, &r.seen)
	if err := r.seen.refuse(true); err != nil {
		return nil, err
	}
	f, ok := white.field(curve{})
	if !ok {
		return nil, say.Failed("check the corners and the layout", "hardly any white paper was found between the colors")
	}
	s.judge(p, h, f, white, modes, windows, &r.seen)
	if err := r.seen.refuse(false); err != nil {
		return nil, err
	}

	m, paper := model{m: srgbMatrix}, linear(opt.Paper)
	if opt.Target != NoTarget {
		t, err := s.readTarget(p, h, white, paper, r)
		if err != nil {
			return nil, err
		}
		m, f = t.model, t.field
		r.Mean, r.P95, r.Used = t.mean, t.p95, t.used
		r.Model = "tone curve and matrix"
		if t.rooted {
			r.Model = "tone curve and root polynomial"
		}
	}
	for i, patch := range s.Patches {
		c := m.color(relative(m.q, f, paper, modes[i].v, patch.center()))
		c.L = min(100, max(0, c.L))
		read := Read{Patch: patch, Lab: lab.Color{L: round2(c.L), A: round2(c.A), B: round2(c.B)}}
		read.trust(modes[i])
		r.Reads = append(r.Reads, read)
	}
	r.Warnings = r.seen.warnings()
	if opt.Target != NoTarget && r.Used < 16 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("only %d of the target's 24 patches could be used; the others are burnt out or in the dark", r.Used))
	}
	return r, nil
}

func linear(c lab.Color) (l [3]float64) {
	l[0], l[1], l[2] = c.LinearRGB()
	return l
}

func round2(v float64) float64 { return math.Round(v*100)/100 + 0 }

// leastPatch is how many pixels a patch has to be wide.
const leastPatch = 10

// place checks the corners and returns where the sheet lies in the picture.
func (s *Sheet) place(p picture, corners [4]Point) (h homography, err error) {
	const hint = "give the outer corners of the grid of colors in pixels, from the top left on clockwise"
	for _, c := range corners {
		if math.IsNaN(c.X) || math.IsNaN(c.Y) || !p.holds(c) {
			return h, say.Usage(hint, "{corners}: %.0f,%.0f lies outside the picture, which is %d x %d pixels", c.X, c.Y, p.w, p.h)
		}
	}
	if !convex(corners) {
		return h, say.Usage(hint, "{corners}: they do not go around clockwise")
	}
	if area(corners) < 0.01*float64(p.w)*float64(p.h) {
		return h, say.Failed("go nearer, so that the card fills the picture", "the card fills less than a hundredth of the picture")
	}
	h, ok := newHomography(s.Corners, corners)
	if !ok {
		return h, say.Usage(hint, "{corners}: three of them lie on a line")
	}
	for _, patch := range s.Patches {
		a, b := h.at(Point{patch.X, patch.Y}), h.at(Point{patch.X + patch.W, patch.Y})
		c := h.at(Point{patch.X, patch.Y + patch.H})
		if side := min(distance(a, b), distance(a, c)); side < leastPatch {
			return h, say.Failed("go nearer, use all of the camera's pixels, or photograph the card in parts", "the patch of %s is only %.0f pixels wide", patch.Code, side)
		}
	}
	return h, nil
}

// readWhites reads the white spots. Burnt ones tell nothing and are left out;
// the ring counts where it agrees with the paper between the patches.
func (s *Sheet) readWhites(p picture, h homography, seen *trouble) (w whites) {
	burntOut := 0
	read := func(spots []Rect, keep func(at Point, v [3]float64) bool) {
		colors := make([]spotColor, len(spots))
		par.Rows(len(spots), func(i int) { colors[i] = mode(p.window(h, spots[i])) })
		for i, r := range spots {
			at := r.center()
			if !p.holds(h.at(at)) || !keep(at, colors[i].v) {
				continue
			}
			if max(colors[i].v[0], colors[i].v[1], colors[i].v[2])*255 > 250 {
				burntOut++
				continue
			}
			w.at, w.v = append(w.at, at), append(w.v, colors[i].v)
		}
	}
	read(s.Whites, func(Point, [3]float64) bool { return true })
	if all := burntOut + len(w.at); all > 0 {
		seen.clipped = float64(burntOut) / float64(all)
	}
	seen.spots = len(w.at)
	var bright []float64
	for _, v := range w.v {
		bright = append(bright, 255*max(v[0], v[1], v[2]))
	}
	seen.paper = median(bright)
	if f, ok := w.field(curve{}); ok {
		read(s.Ring, func(at Point, v [3]float64) bool { return f.off(at, decodeAll(v)) < math.Log(1.12) })
	}
	return w
}

// readTarget reads the 24-patch target in the picture and fits the model.
func (s *Sheet) readTarget(p picture, h homography, white whites, paper [3]float64, r *Reading) (t trained, err error) {
	const hint = "give the middles of the target's corner patches: dark skin, bluish green, black, white"
	for _, c := range r.opt.TargetCorners {
		if !p.holds(c) {
			return t, say.Usage(hint, "{target-corners}: %.0f,%.0f lies outside the picture", c.X, c.Y)
		}
	}
	rects, corners := targetPatches()
	if !convex(r.opt.TargetCorners) {
		return t, say.Usage(hint, "{target-corners}: they do not go around clockwise")
	}
	th, ok := newHomography(corners, r.opt.TargetCorners)
	if !ok {
		return t, say.Usage(hint, "{target-corners}: three of them lie on a line")
	}
	r.target = th
	back, ok := newHomography(r.cornersInPicture(h), s.Corners)
	if !ok {
		return t, say.Usage(hint, "{corners}: three of them lie on a line")
	}
	var used []sample
	for i, ref := range r.opt.Target.reference() {
		m := mode(p.window(th, rects[i]))
		lo, hi := min(m.v[0], m.v[1], m.v[2])*255, max(m.v[0], m.v[1], m.v[2])*255
		if hi > burnt || lo < drowned || m.burnt > 0.3 {
			continue
		}
		used = append(used, sample{m.v, back.at(th.at(rects[i].center())), ref})
	}
	if len(used) < 10 {
		return t, say.Failed("shoot half a stop to one stop darker or lighter, and check {target-corners}", "only %d of the target's 24 patches are neither burnt out nor black", len(used))
	}
	t, ok = train(used, white, paper)
	if !ok {
		return t, say.Failed("check {target-corners}", "no camera curve fits the target's patches")
	}
	if t.mean > 12 {
		return t, say.Failed("check {target-corners} and the target's edition", "the target's patches do not look like a 24-patch target (%.0f off)", t.mean)
	}
	return t, nil
}

func (r *Reading) cornersInPicture(h homography) (c [4]Point) {
	for i, p := range r.sheet.Corners {
		c[i] = h.at(p)
	}
	return c
}

// trust judges a color by itself.
func (r *Read) trust(m spotColor) {
	lo, hi := min(m.v[0], m.v[1], m.v[2])*255, max(m.v[0], m.v[1], m.v[2])*255
	r.Certainty = Good
	down := func(to Certainty, why string) {
		if r.Why != "" {
			r.Why += "; "
		}
		r.Why += why
		if to == Poor || r.Certainty == Good {
			r.Certainty = to
		}
	}
	switch {
	case hi > burnt:
		r.clipped = true
		down(Poor, "burnt out: lightness and strength are uncertain")
	case lo < drowned:
		r.clipped = true
		down(Poor, "a channel is drowned: strength and darkness are uncertain")
	case lo < dim:
		down(Fair, "a channel is nearly drowned: strength is less certain")
	}
	if m.support < 0.2 {
		down(Poor, "no one color fills it")
	} else if m.support < 0.33 {
		down(Fair, "its color is uneven")
	}
	if r.Finish != "" {
		down(Fair, "its finish changes with the light")
	}
}
