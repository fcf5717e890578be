package web

import (
	"context"
	"maps"
	"net/http"
	"slices"
	"strconv"

	"kitwright/chart"
	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/plan"
	"kitwright/render/look"
)

// seenRung is a rung as the page knows it.
type seenRung struct {
	kit.Rung
	seq  int // another for another chart in its place
	note string
}

func (t *Table) routesOfLadders() {
	t.api("POST /ladder", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		if _, err := t.wanted(e.kept()); err != nil {
			return err
		}
		t.startLadder(e, t.pageID(r))
		answer(w, http.StatusAccepted, map[string]bool{"started": true})
		return nil
	})
	t.api("POST /stop", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		t.jobs.stop(e.id)
		answer(w, http.StatusOK, map[string]bool{"stopped": true})
		return nil
	})
	t.api("GET /ladder", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		answer(w, http.StatusOK, t.ladderView(e))
		return nil
	})
	t.api("GET /rung/{colors}", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		n, _ := strconv.Atoi(r.PathValue("colors"))
		e.mu.Lock()
		defer e.mu.Unlock()
		for _, x := range e.ladder.rungs {
			if x.Asked == n {
				writeCells(w, x.Chart)
				return nil
			}
		}
		return faulty(http.StatusNotFound, "", "norung")
	})
	t.api("GET /coarse", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		e.mu.Lock()
		k := e.coarse
		e.mu.Unlock()
		if k == nil {
			return faulty(http.StatusNotFound, "", "norung")
		}
		answer(w, http.StatusOK, map[string]any{"cols": k.Chart.Cols, "rows": k.Chart.Rows, "colors": hexes(k.Chart), "cells": k.Chart.Cells})
		return nil
	})
	t.api("GET /look.png", t.look)
	t.api("POST /choose", t.choose)
}

// writeCells sends the cells of a chart, a byte each: a chart has at most a
// hundred colors.
func writeCells(w http.ResponseWriter, c *chart.Chart) {
	out := make([]byte, len(c.Cells))
	for i, v := range c.Cells {
		out[i] = byte(v)
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Write(out)
}

func hexes(c *chart.Chart) []string {
	out := make([]string, len(c.Legend))
	for i, rgb := range c.RGBs() {
		out[i] = lab.Hex(rgb)
	}
	return out
}

// ladderKey is all that a ladder depends on: the order, but for the number of
// colors chosen from it and for what is only written.
func ladderKey(o kit.Order) string { return key(o, "colors", "title") }

// startLadder begins to make the ladder of what is wanted now: first a coarse
// look, then rung by rung, then the one to recommend.
func (t *Table) startLadder(e *entry, page string) {
	t.jobs.start(e.id, page, "ladder", func(ctx context.Context) error {
		o, err := t.wanted(e.kept())
		if err != nil {
			return err
		}
		e.mu.Lock()
		fresh := e.ladder.of != ladderKey(o)
		if fresh {
			e.ladder, e.coarse = ladder{of: ladderKey(o)}, nil
		}
		e.mu.Unlock()
		if fresh {
			if err := t.coarse(ctx, e, o); err != nil {
				return err
			}
		}
		prep, err := t.prepare(ctx, e, o)
		if err != nil {
			return err
		}
		t.hub.tell("laid", map[string]string{"kit": e.id})
		card, err := prep.Card(o.Choice)
		if err != nil {
			return err
		}
		e.mu.Lock()
		e.ladder.prep = prep
		e.mu.Unlock()
		seen := kit.WithSeen(ctx, func(r kit.Rung) {
			e.see(o, r)
			t.hub.tell("ladder", map[string]any{"kit": e.id})
		})
		asked := counts(o.Choice, len(card.Drills))
		rungs, pick, err := prep.Ladder(seen, o.Choice, asked)
		if err != nil {
			return err
		}
		notes, err := prep.LadderNotes(o.Choice, rungs, asked)
		if err != nil {
			return err
		}
		e.mu.Lock()
		e.ladder.pick, e.ladder.over, e.ladder.notes = pick, true, notes
		e.ladder.rungs = slices.DeleteFunc(e.ladder.rungs, func(s seenRung) bool { // those that show the drills of the one before
			return !slices.ContainsFunc(rungs, func(r kit.Rung) bool { return r.Asked == s.Asked })
		})
		e.note(o)
		e.mu.Unlock()
		t.hub.tell("ladder", map[string]any{"kit": e.id})
		return nil
	})
}

// counts are the numbers of colors that the ladder shows: the usual ones, as
// far as the card and what is kept and left out allow, and the chosen one.
func counts(c kit.Choice, all int) []int {
	out := kit.LadderCounts()
	if c.Colors != kit.AutoColors {
		out = append(out, c.Colors)
	}
	most := min(all-len(c.Avoid), kit.MaxColors)
	if most < slices.Max(out) {
		out = append(out, most)
	}
	least := max(len(c.Keep), kit.MinColors)
	out = slices.DeleteFunc(out, func(n int) bool { return n < least || n > most })
	if len(out) == 0 {
		out = []int{least}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// coarse makes a quick look on a small canvas: something to see at once.
func (t *Table) coarse(ctx context.Context, e *entry, o kit.Order) error {
	const wide = 80
	src, err := t.sourceOf(ctx, e)
	if err != nil {
		return err
	}
	l, err := o.Canvas.Lay(src.Photo.Width, src.Photo.Height)
	if err != nil {
		return err
	}
	if l.Cols <= wide || o.Background != (kit.Background{}) {
		return nil // the real thing is nearly as quick
	}
	small := o
	small.Grid = kit.Cells{Cols: wide, Rows: max(1, wide*l.Rows/l.Cols)}
	small.Turn, small.Caption, small.Border = kit.TurnAsked, "", kit.Border{}
	small.Effort, small.NoSubject = kit.EffortQuick, true
	small.Subject, small.Add, small.Cut, small.Focus = kit.Box{}, nil, nil, nil
	if small.Colors == kit.AutoColors {
		small.Colors = min(24, max(len(o.Keep), 24))
	}
	prep, err := src.Lay(ctx, small.Canvas, small.Light)
	if err != nil {
		return err
	}
	k, err := prep.Kit(ctx, small.Choice)
	if err != nil {
		return nil // whatever it is, the real ladder tells it
	}
	e.mu.Lock()
	e.coarse = k
	e.mu.Unlock()
	t.hub.tell("coarse", map[string]string{"kit": e.id})
	return nil
}

// see takes a rung over.
func (e *entry) see(o kit.Order, r kit.Rung) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.ladder.of != ladderKey(o) {
		return
	}
	for i, x := range e.ladder.rungs {
		if x.Asked == r.Asked {
			e.ladder.rungs[i] = seenRung{Rung: r, seq: x.seq + 1}
			e.note(o)
			return
		}
	}
	e.ladder.rungs = append(e.ladder.rungs, seenRung{Rung: r})
	slices.SortFunc(e.ladder.rungs, func(a, b seenRung) int { return a.Asked - b.Asked })
	e.note(o)
}

// note says what each rung changes, with e.mu held.
func (e *entry) note(o kit.Order) {
	if e.ladder.prep == nil || len(e.ladder.rungs) == 0 {
		return
	}
	var rungs []kit.Rung
	for _, x := range e.ladder.rungs {
		rungs = append(rungs, x.Rung)
	}
	l := look.LadderOf(e.ladder.prep, o.Choice, rungs, e.ladder.pick)
	for i, v := range l.Views {
		e.ladder.rungs[i].note = v.Note
	}
	if len(e.st.Spot) == 0 {
		e.ladder.spot = l.Spot
	}
}

// rungView is a rung as it is sent; its cells are fetched apart, once.
func rungView(x seenRung) map[string]any {
	return map[string]any{
		"asked": x.Asked, "colors": x.Colors, "seq": x.seq, "note": x.note,
		"mean": x.Mean, "near": x.Near(), "subject": x.Subject, "far": x.Far, "worst": x.Worst, "p95": x.P95,
		"bound": kit.Floor2(x.Bound), "ground": x.Bound, "proven": x.Proven, "stopped": x.Stopped,
		"lone": x.Lone, "few": x.Few, "confetti": x.Confetti, "hex": hexes(x.Chart),
	}
}

func (t *Table) ladderView(e *entry) map[string]any {
	o, err := t.wanted(e.kept())
	e.mu.Lock()
	defer e.mu.Unlock()
	rungs := []any{}
	p, perr := printOf(e.st.Print)
	for _, x := range e.ladder.rungs {
		v := rungView(x)
		if perr == nil {
			owned := map[string]int{}
			for _, l := range o.Stock {
				owned[l.Address] += l.Drills
			}
			list := plan.List(x.Chart, p.Supply, owned)
			maps.Copy(v, buyingView(list, list.Total))
		}
		rungs = append(rungs, v)
	}
	out := map[string]any{
		"rungs": rungs, "over": e.ladder.over, "pick": e.ladder.pick.Asked, "why": e.ladder.pick.Why,
		"counts": kit.LadderCounts(), "now": err == nil && e.ladder.of == ladderKey(o), "coarse": e.coarse != nil, "fewDrills": kit.FewDrills,
	}
	if p := e.ladder.prep; p != nil {
		out["cols"], out["rows"] = p.Layout.Cols, p.Layout.Rows
		at := p.Layout.Picture
		out["picture"] = []int{at.X, at.Y, at.W, at.H}
		out["spot"] = []int{e.ladder.spot.X, e.ladder.spot.Y, e.ladder.spot.Cells}
		if card, cerr := p.Card(o.Choice); err == nil && cerr == nil {
			out["counts"], out["builtin"], out["notes"] = counts(o.Choice, len(card.Drills)), card.Builtin, e.ladder.notes
		}
	}
	return out
}

// look is the finished look of a rung, or of the kit.
func (t *Table) look(w http.ResponseWriter, r *http.Request, e *entry) error {
	var c *chart.Chart
	shape := kit.Square
	n, _ := strconv.Atoi(r.URL.Query().Get("rung"))
	e.mu.Lock()
	for _, x := range e.ladder.rungs {
		if x.Asked == n {
			c, shape = x.Chart, e.ladder.prep.Drill().Shape
		}
	}
	e.mu.Unlock()
	if c == nil {
		k, err := e.kit()
		if err != nil {
			return err
		}
		if k == nil {
			return faulty(http.StatusNotFound, "", "norung")
		}
		c, shape = k.Chart, k.Drill.Shape
	}
	most, _ := strconv.Atoi(r.URL.Query().Get("px"))
	px := max(1, min(look.PreviewPx(c.Cols, c.Rows), min(max(most, 1), 12)))
	return t.with(r.Context(), t.heavy, func() error {
		w.Header().Set("Content-Type", "image/png")
		return look.WritePNG(w, look.Paint(look.Picture(c, shape), px))
	})
}

// choose takes a number of colors and makes the kit in them.
func (t *Table) choose(w http.ResponseWriter, r *http.Request, e *entry) error {
	var ask struct {
		Colors string
		Make   bool
	}
	if err := read(w, r, &ask); err != nil {
		return err
	}
	st := e.kept()
	st.Order["colors"] = ask.Colors
	o, err := orderOf(st.Order)
	if err != nil {
		return err
	}
	if err := e.keep(func(st *stored) { maps.Copy(st.Order, map[string]string{"colors": o.Settings()["colors"]}) }); err != nil {
		return err
	}
	t.hub.tell("order", map[string]string{"kit": e.id, "page": t.pageID(r)})
	if ask.Make {
		t.startKit(e, t.pageID(r))
	}
	answer(w, http.StatusOK, map[string]any{"command": t.command(e.kept())})
	return nil
}

// startKit begins to make the kit folder, as the command does. What was
// changed by hand is changed again where it fits.
func (t *Table) startKit(e *entry, page string) {
	t.jobs.start(e.id, page, "kit", func(ctx context.Context) error {
		st := e.kept()
		o, prep, err := t.ready(ctx, e)
		if err != nil {
			return err
		}
		p, err := printOf(st.Print)
		if err != nil {
			return err
		}
		t.settle(ctx, e)
		e.disk.Lock()
		defer e.disk.Unlock()
		dir, err := folder.Begin(e.kitDir(), folder.Kits, folder.Options{Force: true})
		if err != nil {
			return err
		}
		defer dir.Drop()
		made, err := folder.MakeKit(ctx, dir, prep, o.Choice, p, false)
		if err != nil {
			return err
		}
		say.Step(ctx, "putting the kit in its place", 0, 0)
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := dir.Finish(); err != nil {
			return err
		}
		e.wrote(made.Kit)
		left := []string{}
		for _, x := range made.Left {
			left = append(left, x.String())
		}
		t.hub.tell("kit", map[string]any{"kit": e.id, "left": left, "edited": made.Edited})
		return nil
	})
}
