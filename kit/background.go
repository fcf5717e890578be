package kit

import (
	"context"

	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/place"
	"kitwright/quantize"
)

// background is what is not the subject, settled before the rest: a color of the card for
// each of its cells, -1 elsewhere.
type background struct{ cells []int32 }

// backgroundBlur is the standard deviation, in drills, of the blur that takes
// the detail out of a background before it gets its few colors.
const backgroundBlur = 3

// background settles the background in one given color or in a few calm ones of
// its own: blurred within itself, the best few colors of the card, laid as
// calmly as can be, and no lone drills.
func (t *task) background(ctx context.Context, w wanted) (*background, error) {
	opt := w.opt
	n := t.Layout.Cols * t.Layout.Rows
	b := &background{cells: make([]int32, n)}
	behind := make([]bool, n)
	for i := range behind {
		behind[i] = t.onPhoto(i) && !t.onSubject(i)
		b.cells[i] = -1
	}
	if t.light.Background.Plain != "" {
		j, err := indices(t.card, []string{t.light.Background.Plain}, "background")
		if err != nil {
			return nil, err
		}
		for i := range behind {
			if behind[i] {
				b.cells[i] = int32(j[0])
			}
		}
		return b, b.fits(opt)
	}

	soft := blurWithin(t.grid, behind, backgroundBlur)
	q, err := quantize.Prepare(soft, labs(t.card))
	if err != nil {
		return nil, err
	}
	only := make([]uint16, n)
	for i := range only {
		if behind[i] {
			only[i] = 1
		}
	}
	want := quantize.Options{K: t.light.Background.Colors, Weight: only, Avoid: opt.Avoid, Effort: opt.Effort}
	if w.supply != nil {
		if err := t.backgroundOwned(ctx, b, q, soft, behind, want, w); err != nil {
			return nil, err
		}
		return b, b.fits(opt)
	}
	sel, err := q.Select(ctx, want)
	if sel == nil {
		return nil, err
	}
	cells, perr := place.Place(context.WithoutCancel(ctx), soft, t.colors(sel.Chosen), place.Options{Calm: 1, Weight: only})
	if perr != nil {
		return nil, perr
	}
	settle(cells, behind, t.Layout.Cols)
	for i := range behind {
		if behind[i] {
			b.cells[i] = int32(sel.Chosen[cells[i]])
		}
	}
	if err == nil {
		err = b.fits(opt)
	}
	return b, err
}

// fits says whether the colors that are settled leave room in the count.
func (b *background) fits(opt quantize.Options) error {
	settled := map[int32]bool{}
	for _, j := range b.fix(opt.Fixed) {
		if j >= 0 {
			settled[j] = true
		}
	}
	for _, j := range opt.Keep {
		settled[int32(j)] = true
	}
	if n := len(settled); n > opt.K {
		return say.Usage(say.Hint("ask for {colors} %d or more, or for fewer background colors", n),
			"background, border, caption and {keep} take %d colors, more than the %d asked for", n, opt.K)
	}
	return nil
}

// fix adds the background to cells that are settled already.
func (b *background) fix(fixed []int32) []int32 {
	out := append([]int32(nil), b.cells...)
	for i, j := range fixed {
		if j >= 0 {
			out[i] = j
		}
	}
	return out
}

// settle gives every ground cell without a like neighbor on the behind the
// color most of its ground neighbors have, the least index on a tie.
func settle(cells []uint16, behind []bool, cols int) {
	for again := true; again; {
		again = false
		for i, v := range cells {
			if !behind[i] {
				continue
			}
			votes := map[uint16]int{}
			for _, j := range [4]int{i - cols, i - 1, i + 1, i + cols} {
				beside := j == i-1 && i%cols == 0 || j == i+1 && j%cols == 0
				if j >= 0 && j < len(cells) && !beside && behind[j] {
					votes[cells[j]]++
				}
			}
			if len(votes) == 0 || votes[v] > 0 {
				continue
			}
			best := v
			for c, n := range votes {
				if most := votes[best]; n > most || n == most && c < best {
					best = c
				}
			}
			cells[i], again = best, true
		}
	}
}

// blurWithin blurs the cells inside a mask by a Gaussian of linear light that
// takes in nothing from outside; cells outside stay as they are.
func blurWithin(g *lab.Grid, in []bool, sigma float64) *lab.Grid {
	reach := int(3 * sigma)
	kernel := lab.Gaussian(sigma, reach)
	type sum struct{ r, g, b, w float64 }
	at := make([]sum, len(g.Cells))
	for i, c := range g.Cells {
		if in[i] {
			at[i].r, at[i].g, at[i].b = c.LinearRGB()
			at[i].w = 1
		}
	}
	pass := func(n, lines, next, line int) {
		out := make([]sum, n)
		for l := range lines {
			for x := range n {
				var s sum
				for j := max(0, x-reach); j <= min(n-1, x+reach); j++ {
					v, weight := at[l*line+j*next], kernel[max(j-x, x-j)]
					s.r += float64(weight * v.r)
					s.g += float64(weight * v.g)
					s.b += float64(weight * v.b)
					s.w += float64(weight * v.w)
				}
				out[x] = s
			}
			for x, s := range out {
				at[l*line+x*next] = s
			}
		}
	}
	pass(g.Cols, g.Rows, 1, g.Cols)
	pass(g.Rows, g.Cols, g.Cols, 1)
	out := lab.NewGrid(g.Cols, g.Rows)
	for i, c := range g.Cells {
		if s := at[i]; in[i] {
			c = lab.FromLinear(s.r/s.w, s.g/s.w, s.b/s.w)
		}
		out.Cells[i] = c.Round()
	}
	return out
}
