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
	trial []int64   // the offers that are tried next to lam
	below []int32   // client -> the first entry of its list that is not below its trial
	v     []float64 // client -> averaged 1 - (number of picked facilities below its offer)
	g     []float64 // the same for the last trial alone
	share float64   // of g that v still has to take in
	vv    float64   // v*v when it has, weighted

	order    []int32 // all facilities in the order of choice, for the last trial
	picked   []int32 // 1 for the k chosen
	trialRho []int64
	part     [chunks][]int64

	f     float64 // length of the steps
	most  float64 // largest share of the newest trial in v
	fails int     // steps since the last better bound
	steps int     // made so far
	mark  int64   // bound at the last look at the progress
}

func newVolume(t *table, p plan, lam []int64) *volume {
	n := t.clients()
	w := &volume{
		t: t, p: p, must: make([]bool, t.m), trial: make([]int64, n), below: make([]int32, n),
		v: make([]float64, n), g: make([]float64, n),
		order: make([]int32, t.m), trialRho: make([]int64, t.m), picked: make([]int32, t.m),
		f: 0.3, most: 0.7,
	}
	w.dual = dual{lam: lam, rho: make([]int64, t.m), y: make([]float64, t.m)}
	for j := range w.order {
		w.order[j] = int32(j)
	}
	for _, j := range p.must {
		w.must[j] = true
	}
	for c := range w.part {
		w.part[c] = make([]int64, t.m)
	}
	w.bound = w.try(0)
	w.keep()
	for j := range w.y {
		w.y[j] = float64(w.picked[j])
	}
	_, w.vv = w.count()
	copy(w.v, w.g)
	w.mark = w.bound
	return w
}

// clamp keeps an offer where it can matter: below a client's least cost more
// is always better, above end the bound would not hold.
func clamp(cost []int64, end, lam int64) int64 {
	if len(cost) == 0 {
		return end
	}
	return min(max(lam, cost[0]), end)
}

// try moves the offers by scale along v, from the best there are, and returns
// the bound that comes out. It leaves trialRho, order and picked.
func (w *volume) try(scale float64) int64 {
	t, share := w.t, w.share
	total := t.sum(func(c, lo, hi int) (sum int64) {
		rho := w.part[c]
		clear(rho)
		// In variables of its own the compiler keeps at hand what does not change.
		n, start := hi-lo, t.start[lo:hi+1]
		ends, weight, best, g := t.end[lo:hi][:n], t.weight[lo:hi][:n], w.lam[lo:hi][:n], w.g[lo:hi][:n]
		vs, trial, below := w.v[lo:hi][:n], w.trial[lo:hi][:n], w.below[lo:hi][:n]
		for i := range n {
			v := float64((1-share)*vs[i]) + float64(share*g[i])
			cost := t.cost[start[i]:start[i+1]]
			fac := t.fac[start[i]:][:len(cost)]
			lam := clamp(cost, ends[i], best[i]+whole(scale*weight[i]*v))
			vs[i], trial[i] = v, lam
			sum += lam
			q := 0
			for ; q < len(cost) && cost[q] < lam; q++ {
				rho[fac[q]] += cost[q] - lam
			}
			below[i] = start[i] + int32(q)
		}
		return sum
	})
	w.share = 0
	clear(w.trialRho)
	for c := range w.part {
		for j, r := range w.part[c] {
			w.trialRho[j] += r
		}
	}
	w.choose()
	for _, j := range w.order[:w.p.k] {
		total += w.trialRho[j]
	}
	return total
}

// count finds g for the trial, and returns v*g and g*g, weighted.
func (w *volume) count() (vg, gg float64) {
	t := w.t
	var part [chunks][2]float64
	t.split(func(c, lo, hi int) {
		var dot, square float64
		n, start, picked := hi-lo, t.start[lo:hi], w.picked
		ends, weight, v := t.end[lo:hi][:n], t.weight[lo:hi][:n], w.v[lo:hi][:n]
		trial, below, gs := w.trial[lo:hi][:n], w.below[lo:hi][:n], w.g[lo:hi][:n]
		for i, from := range start {
			served := int32(0)
			for _, j := range t.fac[from:below[i]] {
				served += picked[j]
			}
			g := float64(1 - served)
			if g == 1 && trial[i] == ends[i] {
				g = 0 // nobody listed and nobody else is as good
			}
			gs[i] = g
			if g != 0 {
				dot += float64(float64(g*v[i]) * weight[i])
				square += float64(float64(g*g) * weight[i])
			}
		}
		part[c] = [2]float64{dot, square}
	})
	for _, s := range part {
		vg, gg = vg+s[0], gg+s[1]
	}
	return vg, gg
}

// choose picks the k smallest rho, ties by index, those of must first.
func (w *volume) choose() {
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
	clear(w.picked)
	for _, j := range w.order[:w.p.k] {
		w.picked[j] = 1
	}
}

// keep makes the trial the best there is.
func (w *volume) keep() {
	w.lam, w.trial = w.trial, w.lam
	w.rho, w.trialRho = w.trialRho, w.rho
	w.pick = append(w.pick[:0], w.order[:w.p.k]...)
}

// watcher is told of every bound that is better than all before, and gives the
// cost that the bound has to reach.
type watcher interface {
	better(w *volume) (target int64)
}

// run makes at most the given number of steps and stops where the bound
// reaches the target, or where nothing is left to balance. It returns the
// number of steps made.
//
// The step is f * (target - bound) / |v|^2. Which direction to trust is
// decided by the averaged v; the share of the newest in the average is the
// one that makes |v| least, kept within reason.
func (w *volume) run(ctx context.Context, steps int, target int64, see watcher) int {
	const (
		grow, shrink = 1.1, 0.75 // of f
		patience     = 2         // failures in a row before f shrinks
		slow         = 0.05      // largest share of the newest pick in y: what is open half the time has to show
		window       = 40        // steps between looks at the progress
	)
	for step := range steps {
		if w.bound >= target || ctx.Err() != nil || w.vv < 1e-9 {
			return step
		}
		aim := float64(1.0002*float64(target)) - float64(w.bound)
		bound := w.try(w.f * aim / w.vv)
		vg, gg := w.count()
		a := w.most
		if d := w.vv - 2*vg + gg; d > 0 {
			a = math.Min(w.most, math.Max(w.most/10, (w.vv-vg)/d))
		}
		w.share = a
		w.vv = float64((1-a)*(1-a)*w.vv) + float64(2*a*(1-a)*vg) + float64(a*a*gg)
		b := math.Min(a, slow)
		for j := range w.y {
			w.y[j] = float64((1-b)*w.y[j]) + float64(b*float64(w.picked[j]))
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
			if float64(w.bound-w.mark) < 0.01*float64(target-w.bound) {
				w.most = math.Max(w.most/2, 1e-3)
			}
			w.mark = w.bound
		}
	}
	return steps
}

// settleV takes in what v still lacks, for whoever goes on from here.
func (w *volume) settleV() {
	for i := range w.v {
		w.v[i] = float64((1-w.share)*w.v[i]) + float64(w.share*w.g[i])
	}
	w.share = 0
}
