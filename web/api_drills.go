package web

import (
	"context"
	"errors"
	"maps"
	"net/http"
	"path/filepath"
	"time"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/palettes/intake"
	"kitwright/plan"
	"kitwright/stash"
)

func (t *Table) routesOfDrills() {
	t.api("GET /drills", t.drills)
	t.api("POST /own", t.own)
	t.mux.HandleFunc("POST /api/cards", func(w http.ResponseWriter, r *http.Request) {
		if err := t.bringCard(w, r); err != nil {
			fail(w, err)
		}
	})
	t.mux.HandleFunc("GET /api/cards/{card}", func(w http.ResponseWriter, r *http.Request) {
		if err := t.checkCard(w, r); err != nil {
			fail(w, err)
		}
	})
}

// ledger is the stash, nil where this system keeps none.
func (t *Table) ledger() (*stash.Ledger, error) {
	if t.cfg.Home == "" {
		return nil, nil
	}
	return stash.Open(filepath.Join(t.cfg.Home, stash.Name))
}

// apart and within bound the stand-ins, as the command's do unless asked.
const apart, within = 4, 10

// drills is the list of what a kit needs, what she owns of it, what to buy and
// what could stand in.
func (t *Table) drills(w http.ResponseWriter, r *http.Request, e *entry) error {
	k, p, err := t.printed(e)
	if err != nil {
		return err
	}
	list := p.Buying(k)
	out := map[string]any{"card": k.Card.Name, "builtin": k.Card.Builtin, "note": kit.ReferenceNote, "total": lineView(list, list.Total), "drills": k.Chart.Drills(), "mark": k.Chart.Mark(),
		"order": e.kept().Order, "bags": p.Bags.String(), "cards": t.cardList(), "shape": k.Drill.Shape, "size": k.Drill.Size.MM(), "extra": p.Extra.String()}
	l, err := t.ledger()
	if err != nil {
		out["stashError"] = faultOfAny(err)
	}
	var owned map[string]int
	if l != nil {
		owned = l.Owned(k.Card.Name, string(k.Drill.Shape), k.Drill.Size)
		out["stash"] = l.Path()
		if faults := l.Faults(); len(faults) > 0 {
			out["stashError"] = &fault{What: word("drills.broken"), Try: word("drills.broken.try")}
		}
	}
	stands, err := t.standIns(r.Context(), k, owned)
	if err != nil {
		return err
	}
	lines := []any{}
	for i, x := range k.Chart.Legend {
		v := drillView(x.Drill)
		line := list.Lines[i]
		v["number"], v["symbol"], v["path"], v["white"] = x.Number, x.Symbol.Name, pathOf(x.Symbol), whiteInk(x.Drill.Lab)
		for name, value := range lineView(list, line) {
			v[name] = value
		}
		v["owned"] = owned[x.Drill.Address()]
		if s, ok := stands[i]; ok {
			v["stand"] = s
		}
		lines = append(lines, v)
	}
	out["lines"] = lines
	if k.Own != nil {
		out["helps"], out["within"] = k.Own.Helps, k.Own.Within
	}
	answer(w, http.StatusOK, out)
	return nil
}

func lineView(b *plan.Buying, l plan.Line) map[string]any {
	out := buyingView(b, l)
	maps.Copy(out, map[string]any{"drills": l.Drills, "extra": l.Extra, "ready": l.Ready(), "buy": l.Buy, "inBags": l.InBags})
	return out
}

// buyingView tells bags and what they cost, where she said how they are sold.
func buyingView(b *plan.Buying, l plan.Line) map[string]any {
	out := map[string]any{}
	if len(b.Supply.Bags.Sizes) > 0 {
		out["bags"] = b.Supply.Bags.Words(l.Bags)
		if b.Supply.Bags.Priced {
			out["price"] = b.Supply.Bags.Money(l.Price)
		}
	}
	return out
}

// standIns finds, for all colors of which too few are owned together, the
// owned ones that come nearest.
func (t *Table) standIns(ctx context.Context, k *kit.Kit, owned map[string]int) (map[int]any, error) {
	if len(owned) == 0 {
		return nil, nil
	}
	card, err := t.card(k.Card.Name)
	if err != nil {
		return nil, nil // her card was removed: what it had is not known
	}
	var wanted []stash.Wanted
	var kept []lab.Color
	var at []int
	used := map[string]bool{}
	for i, x := range k.Chart.Legend {
		used[x.Drill.Address()] = true
		if owned[x.Drill.Address()] >= x.Count {
			kept = append(kept, x.Drill.Lab)
			continue
		}
		at, wanted = append(at, i), append(wanted, stash.Wanted{Color: x.Drill.Lab, Drills: x.Count})
	}
	var offers []stash.Offer
	var drills []palettes.Drill
	for _, d := range card.Drills {
		if n := owned[d.Address()]; n > 0 && !used[d.Address()] {
			finish := d.Finish
			offers = append(offers, stash.Offer{Color: d.Lab, Drills: n, For: func(i int) bool { return k.Chart.Legend[at[i]].Drill.Finish == finish }})
			drills = append(drills, d)
		}
	}
	if len(wanted) == 0 || len(offers) == 0 || len(wanted) > stash.MostWanted {
		return nil, nil
	}
	found, err := stash.FindStandIns(ctx, wanted, kept, offers, apart, within)
	if err != nil {
		return nil, err
	}
	out := map[int]any{}
	for i, j := range found.For {
		if j >= 0 {
			v := drillView(drills[j])
			v["off"], v["owned"] = lab.DeltaE(drills[j].Lab, k.Chart.Legend[at[i]].Drill.Lab), offers[j].Drills
			out[at[i]] = v
		}
	}
	return out, nil
}

// own records what she counted of a color, or bought of it.
func (t *Table) own(w http.ResponseWriter, r *http.Request, e *entry) error {
	var ask struct {
		Address string
		Drills  int
		Bought  bool // they come to those she has
	}
	if err := read(w, r, &ask); err != nil {
		return err
	}
	k, err := e.need()
	if err != nil {
		return err
	}
	l, err := t.ledger()
	if err != nil {
		return err
	}
	if l == nil {
		return say.Failed("start kitwright with {home}", "this system names no place for your stash")
	}
	if ask.Drills < 0 || ask.Drills > stash.MaxDrills {
		return faulty(http.StatusUnprocessableEntity, "", "count")
	}
	code, finish := palettes.SplitAddress(ask.Address)
	key := stash.Key{Card: k.Card.Name, Code: code, Finish: finish, Shape: string(k.Drill.Shape), Size: k.Drill.Size}
	put := l.Count
	if ask.Bought {
		put = l.Add
	}
	if _, err := put(r.Context(), time.Now().Format(time.DateOnly), stash.Amount{Key: key, Drills: ask.Drills}); err != nil {
		return err
	}
	if e.kept().Order["own"] == "true" { // the ladder and the kit are of what she owned before
		t.hub.tell("order", map[string]string{"kit": e.id, "page": t.pageID(r)})
	}
	return t.drills(w, r, e)
}

// bringCard reads a supplier's table and keeps it as a card of hers.
func (t *Table) bringCard(w http.ResponseWriter, r *http.Request) error {
	name := r.URL.Query().Get("name")
	res, err := intake.Read(r.URL.Query().Get("file"), http.MaxBytesReader(w, r.Body, intake.MaxBytes+1), intake.Options{})
	var much *http.MaxBytesError
	if errors.As(err, &much) {
		return faulty(http.StatusRequestEntityTooLarge, "", "cardlarge")
	} else if err != nil {
		return err
	}
	if name == "" {
		name = slug(baseOf(r.URL.Query().Get("file")))
	}
	if _, err := t.shelf.Add(name, res.Card, false); err != nil {
		return err
	}
	t.forgetPhotos()
	left := []string{}
	for _, x := range res.Left {
		left = append(left, x.String())
	}
	answer(w, http.StatusCreated, map[string]any{"card": name, "colors": len(res.Card.Drills), "kind": res.Kind, "notes": res.Notes, "left": left[:min(len(left), 20)], "more": max(0, len(left)-20)})
	return nil
}

// checkCard says how many colors a card has, and which look alike.
func (t *Table) checkCard(w http.ResponseWriter, r *http.Request) error {
	c, err := t.card(r.PathValue("card"))
	if err != nil {
		return err
	}
	alike := []any{}
	for _, p := range c.Alike(1) {
		alike = append(alike, []any{c.Drills[p.A].Address(), c.Drills[p.B].Address(), p.Far})
	}
	answer(w, http.StatusOK, map[string]any{"card": r.PathValue("card"), "colors": len(c.Drills), "alike": alike[:min(len(alike), 40)], "pairs": len(alike), "builtin": c.Builtin})
	return nil
}
