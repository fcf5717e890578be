package quantize

import (
	"context"
	"math"
	"slices"
)

// dual is a lower bound of a table under a plan, and how it was found.
//
// Each client offers lam[i] to be served. A facility collects
//
//	rho[j] = sum over clients of min(0, cost[i][j] - lam[i])
//
// and the bound is sum lam + the k smallest rho (those of must among them).
// Why it is one: let S be any allowed set and i be served in S at cost c(i).
// The facility that serves i lists it or not. If it does, c(i) - lam(i) >=
// min(0, c(i) - lam(i)) is part of its rho. If it does not, c(i) >= end(i) >=
// lam(i), for lam is kept at or below end, and nothing is missing from its
// rho. All other terms of the rho of S are at most 0, so cost(S) >= sum lam +
// sum of rho over S >= the bound. This holds for every lam, in integers, and
// for lists cut off anywhere as long as end is what table says.
type dual struct {
	lam   []int64
	bound int64
	rho   []int64
	pick  []int32   // the k facilities behind bound
	y     []float64 // facility -> how open it was, averaged over the steps
}

// volume improves a lower bound step by step.
//
// It is the volume algorithm: F. Barahona, R. Anbil, "The volume algorithm:
// producing primal solutions with a subgradient method", Mathematical
// Programming 87 (2000) 385-399, with steps in proportion to a client's
// weight, and lam kept between the client's least cost and end.
type volume struct {
	t    *table
	p    plan
	must []bool

	dual
	center []int64   // lam of the best bound; lam is the trial
	v      []float64 // client -> averaged 1 - (number of picked facilities below lam)
	g      []float64 // the same for the last trial alone
	order  []int32   // all facilities in the order of choice, for the last trial
	f      float64   // length of the steps
	most   float64   // largest share of the newest trial in v
	fails  int       // steps since the last better bound
	steps  int       // made so far
	mark   int64     // bound at the last look at the progress
	part   [chunks][]int64

	trialPick []int32
	trialRho  []int64
	picked    []bool
}

func newVolume(t *table, p plan, lam []int64) *volume {
	n := t.clients()
	w := &volume{
		t: t, p: p, must: make([]bool, t.m), center: lam,
		v: make([]float64, n), g: make([]float64, n),
		order: make([]int32, t.m), trialRho: make([]int64, t.m), picked: make([]bool, t.m),
	}
	w.f, w.most = 0.3, 0.2
	w.dual = dual{lam: make([]int64, n), rho: make([]int64, t.m), y: make([]float64, t.m)}
	for _, j := range p.must {
		w.must[j] = true
	}
	for c := range w.part {
		w.part[c] = make([]int64, t.m)
	}
	for i := range lam {
		w.lam[i] = w.clamp(i, lam[i])
	}
	copy(w.center, w.lam)
	w.bound = w.try()
	w.keep()
	copy(w.v, w.g)
	for j := range w.y {
		if w.picked[j] {
			w.y[j] = 1
		}
	}
	return w
}

// clamp keeps an offer where it can matter: below a client's least cost more
// is always better, above end the bound would not hold.
func (w *volume) clamp(i int, lam int64) int64 {
	if lo := w.t.start[i]; lo < w.t.start[i+1] {
		lam = max(lam, w.t.cost[lo])
	} else {
		lam = w.t.end[i]
	}
	return min(lam, w.t.end[i])
}

// try evaluates lam: it fills trialRho, trialPick, picked and g, and returns
// the bound.
func (w *volume) try() int64 {
	t := w.t
	total := sumParts(t.clients(), func(c, lo, hi int) (sum int64) {
		rho := w.part[c]
		clear(rho)
		for i := lo; i < hi; i++ {
			lam := w.lam[i]
			sum += lam
			for p := t.start[i]; p < t.start[i+1] && t.cost[p] < lam; p++ {
				rho[t.fac[p]] += t.cost[p] - lam
			}
		}
		return sum
	})
	clear(w.trialRho)
	for c := range w.part {
		for j, r := range w.part[c] {
			w.trialRho[j] += r
		}
	}
	w.choose()
	for _, j := range w.trialPick {
		total += w.trialRho[j]
	}
	parallel(t.clients(), worth, func(_, lo, hi int) {
		for i := lo; i < hi; i++ {
			g, lam := 1.0, w.lam[i]
			for p := t.start[i]; p < t.start[i+1] && t.cost[p] < lam; p++ {
				if w.picked[t.fac[p]] {
					g--
				}
			}
			if g == 1 && lam == t.end[i] {
				g = 0 // nobody listed and nobody else is as good
			}
			w.g[i] = g
		}
	})
	return total
}

// choose picks the k smallest rho, ties by index, those of must first.
func (w *volume) choose() {
	for j := range w.order {
		w.order[j] = int32(j)
	}
	slices.SortFunc(w.order, func(a, b int32) int {
		switch {
		case w.must[a] != w.must[b]:
			if w.must[a] {
				return -1
			}
			return 1
		case w.trialRho[a] != w.trialRho[b]:
			if w.trialRho[a] < w.trialRho[b] {
				return -1
			}
			return 1
		}
		return int(a - b)
	})
	w.trialPick = append(w.trialPick[:0], w.order[:w.p.k]...)
	clear(w.picked)
	for _, j := range w.trialPick {
		w.picked[j] = true
	}
}

// keep makes the trial the best there is.
func (w *volume) keep() {
	copy(w.center, w.lam)
	copy(w.rho, w.trialRho)
	w.pick = append(w.pick[:0], w.trialPick...)
}

// watcher is told of every bound that is better than all before, and gives the
// cost that the bound has to reach.
type watcher interface {
	better(w *volume) (target int64)
}

// run makes at most the given number of steps and stops where the bound
// reaches the target. It returns the number of steps made.
//
// The step is f * (target - bound) / |v|^2. Which direction to trust is
// decided by the averaged v; the share a of the newest in the average is the
// one that makes |v| least, kept within reason.
func (w *volume) run(ctx context.Context, steps int, target int64, see watcher) int {
	const (
		grow, shrink = 1.1, 0.66 // of f
		patience     = 12        // failures in a row before f shrinks
		window       = 40        // steps between looks at the progress
	)
	t, n := w.t, w.t.clients()
	if w.steps == 0 {
		w.mark = w.bound
	}
	for step := range steps {
		if w.bound >= target || ctx.Err() != nil {
			return step
		}
		norm := sumFloats(n, func(lo, hi int) (s float64) {
			for i := lo; i < hi; i++ {
				s += float64(t.weight[i] * float64(w.v[i]*w.v[i]))
			}
			return s
		})
		if norm < 1e-12 {
			if w.flat() {
				return step
			}
			copy(w.v, w.g)
			continue
		}
		aim := float64(target)*1.0002 - float64(w.bound)
		scale := w.f * aim / norm
		parallel(n, worth, func(_, lo, hi int) {
			for i := lo; i < hi; i++ {
				w.lam[i] = w.clamp(i, w.center[i]+roundStep(scale*t.weight[i]*w.v[i]))
			}
		})
		bound := w.try()

		vv, vg, gg := w.products()
		a := w.most
		if d := vv - 2*vg + gg; d > 0 {
			a = math.Min(w.most, math.Max(w.most/10, (vv-vg)/d))
		}
		parallel(n, worth, func(_, lo, hi int) {
			for i := lo; i < hi; i++ {
				w.v[i] = float64((1-a)*w.v[i]) + float64(a*w.g[i])
			}
		})
		for j := range w.y {
			w.y[j] *= 1 - a
			if w.picked[j] {
				w.y[j] += a
			}
		}

		if bound > w.bound {
			w.bound = bound
			w.keep()
			w.fails = 0
			if vg >= 0 {
				w.f = math.Min(w.f*grow, 2)
			}
			target = see.better(w)
		} else if w.fails++; w.fails >= patience {
			w.f, w.fails = math.Max(w.f*shrink, 1e-4), 0
		}
		if w.steps++; w.steps%window == 0 {
			if float64(w.bound-w.mark) < float64(0.01*float64(target-w.bound)) {
				w.most = math.Max(w.most/2, 1e-3)
			}
			w.mark = w.bound
		}
	}
	return steps
}

// flat tells that no client is served too much or too little: the pick is an
// answer and the bound is its cost.
func (w *volume) flat() bool {
	for _, g := range w.g {
		if g != 0 {
			return false
		}
	}
	return true
}

// products returns v*v, v*g and g*g, weighted.
func (w *volume) products() (vv, vg, gg float64) {
	var part [chunks][3]float64
	parallel(len(w.v), worth, func(c, lo, hi int) {
		var s [3]float64
		for i := lo; i < hi; i++ {
			v, g, k := w.v[i], w.g[i], w.t.weight[i]
			s[0] += float64(float64(v*v) * k)
			s[1] += float64(float64(v*g) * k)
			s[2] += float64(float64(g*g) * k)
		}
		part[c] = s
	})
	for _, s := range part {
		vv, vg, gg = vv+s[0], vg+s[1], gg+s[2]
	}
	return vv, vg, gg
}

func sumParts(n int, f func(part, lo, hi int) int64) int64 {
	var part [chunks]int64
	parallel(n, worth, func(p, lo, hi int) { part[p] = f(p, lo, hi) })
	sum := int64(0)
	for _, s := range part {
		sum += s
	}
	return sum
}

func sumFloats(n int, f func(lo, hi int) float64) float64 {
	var part [chunks]float64
	parallel(n, worth, func(p, lo, hi int) { part[p] = f(lo, hi) })
	sum := 0.0
	for _, s := range part {
		sum += s
	}
	return sum
}
