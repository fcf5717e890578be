package web

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"kitwright/folder"
	"kitwright/kit"
	"kitwright/plan"
)

func (t *Table) routesOfPlacing() {
	t.api("GET /placing", t.placing)
	t.api("GET /placing/{section}", t.section)
	t.api("POST /tick", t.tick)
}

// placing is how far the work on a kit has come.
func (t *Table) placing(w http.ResponseWriter, r *http.Request, e *entry) error {
	k, g, err := t.progress(e)
	if err != nil {
		return err
	}
	answer(w, http.StatusOK, placingView(k, g))
	return nil
}

// planned is a kit and its plan, as its prints have it.
func (t *Table) planned(e *entry) (*kit.Kit, *plan.Plan, error) {
	k, err := e.need()
	if err != nil {
		return nil, nil, err
	}
	p, err := printOf(k.Print)
	if err != nil {
		return nil, nil, err
	}
	return k, p.PlanOf(k), nil
}

// progress is how far the plan of a kit has come.
func (t *Table) progress(e *entry) (*kit.Kit, *plan.Progress, error) {
	k, p, err := t.planned(e)
	if err != nil {
		return nil, nil, err
	}
	g, err := folder.Progress(e.kitDir(), p)
	return k, g, err
}

func placingView(k *kit.Kit, g *plan.Progress) map[string]any {
	sections := []any{}
	steps := g.Plan.Steps()
	for i, s := range g.Plan.Sections {
		b := s.Box
		sections = append(sections, map[string]any{"name": s.Name, "box": []int{b.X, b.Y, b.W, b.H}, "drills": s.Drills(), "left": g.LeftIn(i), "step": steps[i]})
	}
	last, undo := g.Log.Last()
	out := map[string]any{
		"sections": sections, "next": g.Next(), "order": g.Plan.Order, "set": g.Set(), "left": g.Left(), "drills": g.Plan.Drills(), "cols": k.Chart.Cols, "rows": k.Chart.Rows,
		"hours": g.Estimate().Left.Hours(), "own": g.Estimate().Own, "undo": undo, "strays": len(g.Strays()), "title": k.Title, "mark": k.Chart.Mark(), "hand": g.Plan.Options.Hand,
	}
	if undo {
		out["last"] = map[string]any{"section": last.Section, "drills": last.Drills()}
	}
	return out
}

// section is the work on one section: its colors in the order of setting, its
// runs, and what is set of it.
func (t *Table) section(w http.ResponseWriter, r *http.Request, e *entry) error {
	k, g, err := t.progress(e)
	if err != nil {
		return err
	}
	i, _ := strconv.Atoi(r.PathValue("section"))
	if i < 0 || i >= len(g.Plan.Sections) {
		return faulty(http.StatusNotFound, "", "nofile")
	}
	s := g.Plan.Sections[i]
	tasks := []any{}
	for _, x := range g.Tasks(i) {
		tasks = append(tasks, map[string]any{"color": x.Color, "left": x.Drills, "ready": x.Ready})
	}
	all := []any{}
	for _, x := range s.Work {
		all = append(all, map[string]any{"color": x.Color, "drills": x.Drills, "left": g.LeftOf(i, x.Color)})
	}
	runs := []any{}
	for _, x := range g.Plan.Runs(i) {
		runs = append(runs, []any{x.Color, x.X, x.Y, x.Length, x.Down, x.Tips})
	}
	set := make([]int, 0, s.Box.W*s.Box.H)
	for y := range s.Box.H {
		for x := range s.Box.W {
			v := 0
			if g.IsSet(s.Box.X+x, s.Box.Y+y) {
				v = 1
			}
			set = append(set, v)
		}
	}
	answer(w, http.StatusOK, map[string]any{"section": i, "name": s.Name, "tasks": tasks, "all": all, "runs": runs, "set": set, "mark": k.Chart.Mark(),
		"legend": legendView(k.Chart), "box": []int{s.Box.X, s.Box.Y, s.Box.W, s.Box.H}})
	return nil
}

// tick ticks off colors of a section, or takes the last tick back.
func (t *Table) tick(w http.ResponseWriter, r *http.Request, e *entry) error {
	var ask struct {
		Act     string // done, open, undo
		Section int
		Colors  []int
		Run     []int // the column and row of a drill in it: this run alone
		Minutes int
		Mark    string // of the chart that she sees
	}
	if err := read(w, r, &ask); err != nil {
		return err
	}
	t.settle(context.Background(), e)
	k, p, err := t.planned(e)
	if err != nil {
		return err
	}
	if ask.Mark != k.Chart.Mark() {
		return faulty(http.StatusConflict, "changed", "changed")
	}
	act := plan.Act(ask.Act)
	if act != plan.Undo && act != plan.Done && act != plan.Open || ask.Section < 0 || ask.Section >= len(p.Sections) {
		return faulty(http.StatusBadRequest, "", "request")
	}
	e.disk.Lock()
	g, err := folder.Tick(e.kitDir(), p, func(g *plan.Progress) (plan.Tick, error) {
		if act == plan.Undo {
			if _, ok := g.Log.Last(); !ok {
				return plan.Tick{}, faulty(http.StatusConflict, "", "notick")
			}
			return plan.Tick{Act: plan.Undo}, nil
		}
		tick, err := g.Mark(act, ask.Section, ask.Colors...)
		if len(ask.Run) == 2 {
			tick, err = g.MarkRun(act, ask.Section, ask.Run[0], ask.Run[1])
		}
		tick.Minutes = max(0, min(ask.Minutes, plan.MostMinutes))
		tick.Date = time.Now().Format(time.DateOnly) // she works with a calendar on the wall; no drill depends on it
		return tick, err
	})
	e.disk.Unlock()
	if err != nil {
		return err
	}
	t.hub.tell("placed", map[string]any{"kit": e.id, "page": t.pageID(r)})
	answer(w, http.StatusOK, placingView(k, g))
	return nil
}
