package web

import (
	"cmp"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"kitwright/chart"
	"kitwright/chart/symbols"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/plan"
)

func (t *Table) routesOfCharts() {
	t.api("GET /chart", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		k, err := e.need()
		if err != nil {
			return err
		}
		answer(w, http.StatusOK, t.chartView(e, k))
		return nil
	})
	t.api("GET /cells", t.cells)
	t.api("GET /off", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		k, err := e.need()
		if err != nil {
			return err
		}
		off := k.Off() // a byte a drill, in tenths: more than 25 off is very far off
		out := make([]byte, len(off))
		for i, v := range off {
			out[i] = byte(min(255, math.Round(10*v)))
		}
		w.Header().Set("X-Kit-Log", strconv.Itoa(logLength(k)))
		w.Header().Set("Content-Type", "application/octet-stream")
		w.Write(out)
		return nil
	})
	t.api("POST /edit", t.edit)
	t.api("POST /turn", t.turn)
	t.api("GET /near", t.near)
	t.api("GET /sweep", t.sweep)
}

// cells are the drills of the chart, a byte each.
func (t *Table) cells(w http.ResponseWriter, r *http.Request, e *entry) error {
	k, err := e.need()
	if err != nil {
		return err
	}
	w.Header().Set("X-Kit-Log", strconv.Itoa(logLength(k)))
	writeCells(w, k.Chart)
	return nil
}

// need is the kit, or a sentence where there is none yet.
func (e *entry) need() (*kit.Kit, error) {
	k, err := e.kit()
	if err == nil && k == nil {
		err = faulty(http.StatusNotFound, "nochart", "nochart")
	}
	return k, err
}

// drillView is a color as the page shows it.
func drillView(d palettes.Drill) map[string]any {
	return map[string]any{"address": d.Address(), "code": d.Code, "name": d.Name, "finish": d.Finish, "hex": lab.Hex(d.RGB), "l": d.Lab.L}
}

// legendView is the legend with the drawn symbols.
func legendView(c *chart.Chart) []any {
	out := []any{}
	for _, l := range c.Legend {
		v := drillView(l.Drill)
		v["number"], v["count"], v["symbol"], v["path"] = l.Number, l.Count, l.Symbol.Name, pathOf(l.Symbol)
		v["white"] = whiteInk(l.Drill.Lab)
		out = append(out, v)
	}
	return out
}

// whiteBelow is the luminance at which black and white stand out alike from a
// color: (Y + .05)^2 = 1.05 * .05 by the contrast of WCAG 2.2.
const whiteBelow = 0.1791

func whiteInk(c lab.Color) bool {
	_, y, _ := c.XYZ()
	return y <= whiteBelow
}

// pathOf writes a symbol as an SVG path in a box of 200.
func pathOf(s symbols.Symbol) string {
	var b strings.Builder
	for _, p := range s.Paths {
		for _, contour := range p {
			for i, at := range contour {
				b.WriteByte("ML"[min(i, 1)])
				b.WriteString(strconv.Itoa(int(math.Round(100*at.X))) + " " + strconv.Itoa(int(math.Round(100*at.Y))))
			}
			b.WriteByte('Z')
		}
	}
	return b.String()
}

func (t *Table) chartView(e *entry, k *kit.Kit) map[string]any {
	q := k.Quality
	st, saved := e.kept(), e.saved()
	card, _ := t.card(k.Card.Name) // nil: what was left out has no color to show
	words, keep := texts(k.Words()), []string{}
	if o, err := orderOf(st.Order); err == nil {
		keep = append(keep, o.Keep...)
	}
	return map[string]any{
		"cols": k.Chart.Cols, "rows": k.Chart.Rows, "legend": legendView(k.Chart), "log": logLength(k), "saved": saved, "mark": k.Chart.Mark(),
		"mean": q.MeanMiss, "lone": k.Chart.Confetti(), "drills": k.Chart.Drills(), "hours": plan.UsualPace.Hours(k.Chart.Drills()),
		"words": words, "changes": changesView(k, card, st.Turns), "undo": len(k.Edits.InForce())+len(st.Turns) > 0, "redo": k.Edits.CanRedo() || len(st.Undone) > 0,
		"judged": k.Target != nil, "stale": t.stale(st, k), "round": k.Drill.Shape == kit.Round, "pitch": k.Pitch.MM(),
		"keep": keep, "builtin": k.Card.Builtin, "card": k.Card.Name, "title": k.Title,
	}
}

// changesView tells the changes in force, a stroke as one, and the colors kept
// and left out between them, the newest first.
func changesView(k *kit.Kit, card *palettes.Card, turns []turn) []any {
	out := []any{}
	force := k.Edits.InForce()
	for i := 0; i < len(force) || len(turns) > 0; {
		if len(turns) > 0 && (turns[0].At <= i || i == len(force)) {
			out, turns = append(out, turnOf(k, card, turns[0])), turns[1:]
			continue
		}
		x := force[i]
		drills, at := 0, x.Area
		j := i
		for ; j < len(force) && (j == i || force[j].With); j++ {
			drills += force[j].Area.W * force[j].Area.H
		}
		v := map[string]any{"act": x.Act, "to": drillView(x.To), "from": x.From, "drills": drills, "x": at.X, "y": at.Y}
		out = append(out, v)
		i = j
	}
	slices.Reverse(out)
	return out
}

// edit changes drills. It names the log it stands on: where another page was
// quicker, it is told so, and nothing changes.
func (t *Table) edit(w http.ResponseWriter, r *http.Request, e *entry) error {
	var ask struct {
		Log   int
		Edits []struct {
			Act      string
			From, To string
			Box      [4]int // column, row, width, height
			With     bool
		}
	}
	if err := read(w, r, &ask); err != nil {
		return err
	}
	if t.jobs.of(e.id) == "kit" {
		return faulty(http.StatusConflict, "making", "making")
	}
	e.mu.Lock()
	k, err := e.kitLocked()
	card := e.st.Order["card"]
	e.mu.Unlock()
	if err != nil {
		return err
	}
	if k == nil {
		return faulty(http.StatusNotFound, "nochart", "nochart")
	}
	from, err := t.card(card)
	if err != nil || from.SHA256() != k.Card.SHA256 {
		from = nil // the kit's own colors can still be set
	}
	var edits []kit.Edit
	for _, x := range ask.Edits {
		n := kit.Edit{Act: kit.Act(x.Act), Area: chart.Box{X: x.Box[0], Y: x.Box[1], W: x.Box[2], H: x.Box[3]}, With: x.With && len(edits) > 0}
		switch n.Act {
		case kit.Swap, kit.Set:
			if n.To, err = k.Find(x.To, from); err != nil {
				return err
			}
			if n.From = x.From; n.Act == kit.Swap {
				n.Area = chart.Box{}
			}
		case kit.Undo, kit.Redo:
		default:
			return faulty(http.StatusBadRequest, "", "request")
		}
		edits = append(edits, n)
	}
	if len(edits) == 0 {
		return faulty(http.StatusBadRequest, "", "request")
	}
	if act := edits[0].Act; len(edits) == 1 && (act == kit.Undo || act == kit.Redo) {
		if logLength(k) != ask.Log {
			return faulty(http.StatusConflict, "changed", "changed")
		}
		if done, err := t.turnBack(w, r, e, k, act); done {
			return err
		}
	} else if err := e.forgetUndone(); err != nil {
		return err
	}
	edited, err := k.Edit(edits...)
	if err != nil {
		return err
	}
	e.mu.Lock()
	now, err := e.kitLocked()
	if err != nil || now == nil || logLength(now) != ask.Log || now.Chart != k.Chart {
		e.mu.Unlock()
		if err != nil {
			return err
		}
		return faulty(http.StatusConflict, "changed", "changed")
	}
	edited.Print = now.Print // it may have been printed meanwhile
	t.save(e, edited)
	e.mu.Unlock()
	t.hub.tell("edited", map[string]any{"kit": e.id, "page": t.pageID(r), "log": logLength(edited)})
	answer(w, http.StatusOK, t.chartView(e, edited))
	return nil
}

// near lists the colors that are nearest to one: of the chart first where they
// are as near.
func (t *Table) near(w http.ResponseWriter, r *http.Request, e *entry) error {
	k, err := e.need()
	if err != nil {
		return err
	}
	of := r.URL.Query().Get("of")
	this, err := k.Find(of, nil)
	if err != nil {
		return err
	}
	type other struct {
		drill palettes.Drill
		off   float64
		here  bool
	}
	var all []other
	here := map[string]bool{}
	for _, l := range k.Chart.Legend {
		here[l.Drill.Address()] = true
		all = append(all, other{l.Drill, lab.DeltaE(this.Lab, l.Drill.Lab), true})
	}
	if card, err := t.card(e.kept().Order["card"]); err == nil && card.SHA256() == k.Card.SHA256 {
		for _, d := range card.Drills {
			if !here[d.Address()] {
				all = append(all, other{d, lab.DeltaE(this.Lab, d.Lab), false})
			}
		}
	}
	all = slices.DeleteFunc(all, func(o other) bool { return o.drill.Address() == this.Address() })
	slices.SortStableFunc(all, func(a, b other) int { return cmp.Compare(a.off, b.off) })
	out := []any{}
	for _, o := range all[:min(len(all), 60)] {
		v := drillView(o.drill)
		v["off"], v["here"] = math.Round(o.off*100)/100, o.here
		out = append(out, v)
	}
	answer(w, http.StatusOK, map[string]any{"of": drillView(this), "near": out})
	return nil
}

// sweep lists the lone drills, each with what it might become.
func (t *Table) sweep(w http.ResponseWriter, r *http.Request, e *entry) error {
	k, err := e.need()
	if err != nil {
		return err
	}
	if k.Target == nil {
		return say.Failed("make the kit again from its photo", "the kit has no %s, so a lone drill cannot be judged", kit.TargetFile)
	}
	out := []any{}
	for _, p := range k.Sweep() {
		out = append(out, []any{p.Area.X, p.Area.Y, p.From, p.To, math.Round(p.Before*10) / 10, math.Round(p.After*10) / 10})
	}
	answer(w, http.StatusOK, map[string]any{"log": logLength(k), "lone": out})
	return nil
}
