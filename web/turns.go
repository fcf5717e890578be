package web

import (
	"net/http"
	"slices"

	"kitwright/kit"
	"kitwright/palettes"
)

// turn is a color that was kept or left out while the chart was looked at. It
// is part of the order, and is undone and made again in one chain with the
// changes of drills: at how many of those it was made tells where it stands.
type turn struct {
	At    int      `json:"at"` // changes in force then
	Act   string   `json:"act"`
	Code  string   `json:"code"`
	Keep  [2]codes `json:"keep"` // before and after
	Avoid [2]codes `json:"avoid"`
}

type codes = []string

// The acts of a turn.
const (
	turnKeep  = "keep"
	turnFree  = "free" // no longer kept
	turnAvoid = "avoid"
)

// mostTurns is how many are remembered.
const mostTurns = 200

// turn keeps a color, no longer keeps it, or leaves it out.
func (t *Table) turn(w http.ResponseWriter, r *http.Request, e *entry) error {
	var ask struct{ Act, Code string }
	if err := read(w, r, &ask); err != nil {
		return err
	}
	k, err := e.need()
	if err != nil {
		return err
	}
	o, err := orderOf(e.kept().Order)
	if err != nil {
		return err
	}
	is := func(code string) bool { return code == ask.Code }
	n := turn{At: len(k.Edits.InForce()), Act: ask.Act, Code: ask.Code, Keep: [2]codes{o.Keep, slices.DeleteFunc(slices.Clone(o.Keep), is)}, Avoid: [2]codes{o.Avoid, slices.DeleteFunc(slices.Clone(o.Avoid), is)}}
	switch ask.Act {
	case turnKeep:
		n.Keep[1] = append(n.Keep[1], ask.Code)
	case turnFree:
	case turnAvoid:
		n.Avoid[1] = append(n.Avoid[1], ask.Code)
	default:
		return faulty(http.StatusBadRequest, "", "request")
	}
	return t.taken(w, r, e, k, n, 1, func(st *stored) {
		st.Turns = append(slices.Clip(st.Turns), n)
		st.Turns = st.Turns[max(0, len(st.Turns)-mostTurns):]
		st.Undone = nil
	})
}

// taken makes the order what it is before or after a turn. Where other colors
// can be chosen from then, the kit is made anew.
func (t *Table) taken(w http.ResponseWriter, r *http.Request, e *entry, k *kit.Kit, n turn, which int, more func(*stored)) error {
	st := e.kept()
	o, err := orderOf(st.Order)
	if err != nil {
		return err
	}
	o.Keep, o.Avoid = n.Keep[which], n.Avoid[which]
	st.Order = o.Settings()
	stocked, err := t.wanted(st)
	if err != nil {
		return err
	}
	if err := o.Check(); err != nil {
		return err
	}
	if card, err := t.card(o.Card); err != nil {
		return err
	} else if err := stocked.CheckOn(card); err != nil {
		return err
	}
	if err := e.keep(func(now *stored) {
		now.Order["keep"], now.Order["avoid"] = st.Order["keep"], st.Order["avoid"]
		more(now)
	}); err != nil {
		return err
	}
	page := t.pageID(r)
	t.hub.tell("order", map[string]string{"kit": e.id, "page": page})
	anew := !slices.Equal(n.Avoid[0], n.Avoid[1])
	if anew {
		t.startKit(e, page)
	}
	out := t.chartView(e, k)
	out["turned"], out["anew"] = true, anew
	answer(w, http.StatusOK, out)
	return nil
}

// turnBack undoes or makes again the turn that comes next in the chain, where
// it is one.
func (t *Table) turnBack(w http.ResponseWriter, r *http.Request, e *entry, k *kit.Kit, act kit.Act) (bool, error) {
	st := e.kept()
	at := len(k.Edits.InForce())
	if act == kit.Undo {
		if n := len(st.Turns); n > 0 && st.Turns[n-1].At >= at {
			x := st.Turns[n-1]
			return true, t.taken(w, r, e, k, x, 0, func(now *stored) {
				now.Turns, now.Undone = st.Turns[:n-1:n-1], append(slices.Clone(st.Undone), x)
			})
		}
		return false, nil
	}
	if n := len(st.Undone); n > 0 && (st.Undone[n-1].At <= at || !k.Edits.CanRedo()) {
		x := st.Undone[n-1]
		return true, t.taken(w, r, e, k, x, 1, func(now *stored) {
			now.Turns, now.Undone = append(slices.Clone(st.Turns), x), st.Undone[:n-1:n-1]
		})
	}
	return false, nil
}

// forgetUndone lets go of turns that cannot be made again once something else
// was changed.
func (e *entry) forgetUndone() error {
	if len(e.kept().Undone) == 0 {
		return nil
	}
	return e.keep(func(st *stored) { st.Undone = nil })
}

// turnOf is a turn as the list of changes shows it.
func turnOf(k *kit.Kit, card *palettes.Card, x turn) map[string]any {
	v := map[string]any{"act": x.Act}
	if d, err := k.Find(x.Code, card); err == nil {
		v["to"] = drillView(d)
	} else { // of a card that was removed
		v["to"] = map[string]any{"address": x.Code}
	}
	return v
}
