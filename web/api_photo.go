package web

import (
	"context"
	"image/jpeg"
	"maps"
	"net/http"
	"slices"
	"strconv"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/internal/shell"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/photo"
	"kitwright/photo/subject"
	"kitwright/plan"
	"kitwright/render"
)

func (t *Table) routesOfPhotos() {
	t.api("GET ", t.state)
	t.api("POST /order", t.order)
	t.api("GET /canvas", t.canvas)
	t.api("GET /outline", t.outline)
	t.api("GET /light", t.light)
	t.api("GET /photo.jpg", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		src, err := t.sourceOf(r.Context(), e)
		if err != nil {
			return err
		}
		wide, _ := strconv.Atoi(r.URL.Query().Get("w"))
		wide = max(64, min(wide, 2048))
		return t.with(r.Context(), t.heavy, func() error {
			img := src.Photo.Picture(src.Photo.Whole(), wide, wide)
			w.Header().Set("Content-Type", "image/jpeg")
			w.Header().Set("Cache-Control", "private, max-age=3600") // a kit's photo never changes
			return jpeg.Encode(w, img, &jpeg.Options{Quality: 88})
		})
	})
}

// state is all that is wanted of a kit, and what there is of it.
func (t *Table) state(w http.ResponseWriter, r *http.Request, e *entry) error {
	st := e.kept()
	src, err := t.sourceOf(r.Context(), e)
	if err != nil {
		return err
	}
	k, kitErr := e.kit()
	out := map[string]any{
		"id": e.id, "name": st.Name, "order": st.Order, "print": st.Print, "spot": st.Spot, "job": t.jobs.of(e.id),
		"photo":   map[string]any{"name": st.Photo, "width": src.Photo.Width, "height": src.Photo.Height, "format": src.Photo.Format, "notes": src.Photo.Notes},
		"command": t.command(st), "folder": e.kitDir(), "cards": t.cardList(), "settings": settings(),
	}
	if kitErr != nil {
		out["kitError"] = faultOfAny(kitErr)
	} else if k != nil {
		out["kit"] = map[string]any{"colors": len(k.Chart.Legend), "log": logLength(k), "stale": t.stale(st, k)}
	}
	answer(w, http.StatusOK, out)
	return nil
}

// stale says whether a kit is of another order than what is wanted now.
func (t *Table) stale(st stored, k *kit.Kit) bool {
	want := st.Order
	if o, err := t.wanted(st); err == nil && o.Own { // with what she owns by now
		want = o.Settings()
	}
	for name, v := range want {
		if was, known := k.Order[name]; known && was != v {
			return true
		}
	}
	return false
}

// cardList names the cards there are to choose from.
func (t *Table) cardList() []map[string]any {
	var out []map[string]any
	for _, name := range t.shelf.Names() {
		out = append(out, map[string]any{"name": name, "own": true})
	}
	for _, name := range palettes.Names() {
		out = append(out, map[string]any{"name": name, "own": false})
	}
	return out
}

// command is the same order as it can be typed, beside the photo.
func (t *Table) command(st stored) string {
	words := []string{"kitwright", "chart"}
	add := func(bind func(*pflag.FlagSet), settings map[string]string) {
		fs := pflag.NewFlagSet("", pflag.ContinueOnError)
		bind(fs)
		fs.VisitAll(func(f *pflag.Flag) {
			v, ok := settings[f.Name]
			switch {
			case !ok || v == f.DefValue:
			case f.Value.Type() == "bool" && v == "true":
				words = append(words, asFlag(f.Name))
			case f.Value.Type() == "bool":
				words = append(words, asFlag(f.Name)+"="+v)
			default:
				words = append(words, asFlag(f.Name), v)
			}
		})
	}
	o, p := kit.DefaultOrder(), render.DefaultPrint().In(t.cfg.Locale)
	add(o.Bind, st.Order)
	add(p.Bind, st.Print)
	if st.Demo {
		return shell.Line(append(words, asFlag("demo"))...)
	}
	return shell.Line(append(words, shell.Argument(st.Photo))...)
}

// order changes what is wanted. What cannot be is refused, and nothing changes.
func (t *Table) order(w http.ResponseWriter, r *http.Request, e *entry) error {
	var ask struct {
		Order, Print map[string]string
		Spot         []float64
		Ladder       bool // make the ladder anew
	}
	if err := read(w, r, &ask); err != nil {
		return err
	}
	st := e.kept()
	maps.Copy(st.Order, ask.Order)
	maps.Copy(st.Print, ask.Print)
	o, err := orderOf(st.Order)
	if err != nil {
		return err
	}
	if _, err := printOf(st.Print); err != nil {
		return err
	}
	stocked, err := t.wanted(st)
	if err != nil {
		return err
	}
	if card, err := t.card(o.Card); err != nil {
		return err
	} else if err := stocked.CheckOn(card); err != nil {
		return err
	}
	if src, err := t.sourceOf(r.Context(), e); err != nil {
		return err
	} else if _, err := o.Canvas.Lay(src.Photo.Width, src.Photo.Height); err != nil {
		return err
	}
	err = e.keep(func(s *stored) {
		maps.Copy(s.Order, known(o.Settings(), ask.Order)) // as our settings write them
		maps.Copy(s.Print, ask.Print)
		if len(ask.Spot) == 2 {
			s.Spot = ask.Spot
		}
	})
	if err != nil {
		return err
	}
	page := t.pageID(r)
	if len(ask.Order)+len(ask.Print) > 0 {
		t.hub.tell("order", map[string]string{"kit": e.id, "page": page})
	}
	if ask.Ladder {
		t.startLadder(e, page)
	}
	st = e.kept()
	k, _ := e.kit()
	answer(w, http.StatusOK, map[string]any{"order": st.Order, "print": st.Print, "command": t.command(st), "stale": k != nil && t.stale(st, k)})
	return nil
}

// known returns the settings that were asked for as an order writes them.
func known(all, asked map[string]string) map[string]string {
	out := map[string]string{}
	for name := range asked {
		if v, ok := all[name]; ok {
			out[name] = v
		}
	}
	return out
}

// card returns a card by its name: her own first.
func (t *Table) card(name string) (*palettes.Card, error) {
	if slices.Contains(t.shelf.Names(), name) {
		return t.shelf.Open(name)
	}
	return palettes.Named(name)
}

// canvas says how the photo lies, what is to be known about it, and what was
// taken for the pet.
func (t *Table) canvas(w http.ResponseWriter, r *http.Request, e *entry) error {
	o, err := t.wanted(e.kept())
	if err != nil {
		return err
	}
	prep, err := t.prepare(r.Context(), e, o)
	if err != nil {
		return err
	}
	pic := prep.Picture(o.Choice)
	advice := []map[string]string{}
	for _, a := range pic.Advice {
		advice = append(advice, map[string]string{"says": sentence(a.Says), "try": sentence(a.Try)})
	}
	l := prep.Layout
	var first map[string]any
	if o.Light.Hints().About == nil && !o.NoSubject {
		if p := e.propose(prep.Photo); p.told {
			c := subject.CropAround(p.box, prep.Photo.Width, prep.Photo.Height, l.Crop.W/l.Crop.H)
			first = map[string]any{"subject": []float64{p.box.X, p.box.Y, p.box.W, p.box.H}, "crop": []float64{c.X, c.Y, c.W, c.H}}
		}
	}
	wide, high := float64(prep.Photo.Width), float64(prep.Photo.Height)
	answer(w, http.StatusOK, map[string]any{
		"cols": l.Cols, "rows": l.Rows, "drills": l.Cols * l.Rows, "hours": plan.UsualPace.Hours(l.Cols * l.Rows),
		"width": l.Width().MM(), "height": l.Height().MM(), "pitch": l.Pitch.MM(), "turned": l.Turned, "card": o.Card,
		"picture": []int{l.Picture.X, l.Picture.Y, l.Picture.W, l.Picture.H},
		"crop":    []float64{100 * l.Crop.X / wide, 100 * l.Crop.Y / high, 100 * l.Crop.W / wide, 100 * l.Crop.H / high},
		"notes":   texts(l.Words()), "outline": texts(prep.OutlineWords(pic)), "advice": advice,
		"first": first, "toned": pic.Tone.Stops != 0 || o.Tone == kit.ToneAuto, "stops": pic.Tone.Stops,
	})
	return nil
}

// texts writes sentences with the page's words for settings.
func texts(all []say.Text) []string {
	out := []string{}
	for _, x := range all {
		out = append(out, sentence(x.Words(settingWord)))
	}
	return out
}

// outline finds the pet by what is drawn, while it is drawn.
func (t *Table) outline(w http.ResponseWriter, r *http.Request, e *entry) error {
	st := e.kept()
	q := r.URL.Query()
	for _, name := range []string{"subject", "add", "cut", "crop"} {
		if q.Has(name) {
			st.Order[name] = q.Get(name)
		}
	}
	o, err := t.wanted(st)
	if err != nil {
		return err
	}
	src, err := t.sourceOf(r.Context(), e)
	if err != nil {
		return err
	}
	const long = 240 // cells of the mask's long side
	ph := src.Photo
	cols, rows := long, max(1, long*ph.Height/ph.Width)
	if ph.Height > ph.Width {
		cols, rows = max(1, long*ph.Width/ph.Height), long
	}
	out := map[string]any{"cols": cols, "rows": rows}
	err = t.with(r.Context(), t.heavy, func() error {
		if o.NoSubject {
			return nil
		}
		if found := subject.Locate(ph, ph.Whole(), o.Light.Hints()); found != nil {
			m := found.On(ph.Whole(), cols, rows)
			out["by"], out["runs"] = found.By, runsOf(m)
		}
		return nil
	})
	if err != nil {
		return err
	}
	answer(w, http.StatusOK, out)
	return nil
}

// runsOf writes a mask as lengths: outside, inside, outside ...
func runsOf(m *photo.Mask) []int {
	out, is, n := []int{}, false, 0
	for _, in := range m.In {
		if in != is {
			out, n, is = append(out, n), 0, in
		}
		n++
	}
	return append(out, n)
}

// light is the photo as drills would like it, before and after the tone: the
// colors of all drills before, then those after, three bytes each.
func (t *Table) light(w http.ResponseWriter, r *http.Request, e *entry) error {
	o, err := t.wanted(e.kept())
	if err != nil {
		return err
	}
	prep, err := t.prepare(r.Context(), e, o)
	if err != nil {
		return err
	}
	body := append(bytesOf(prep.Before), bytesOf(prep.Picture(o.Choice).After)...)
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Write(body)
	return nil
}

func bytesOf(g *lab.Grid) []byte {
	out := make([]byte, 0, 3*len(g.Cells))
	for _, c := range g.Cells {
		rgb, _ := c.SRGB()
		out = append(out, rgb[:]...)
	}
	return out
}

// ready returns the order and the photo on its canvas.
func (t *Table) ready(ctx context.Context, e *entry) (kit.Order, *kit.Prepared, error) {
	o, err := t.wanted(e.kept())
	if err != nil {
		return o, nil, err
	}
	prep, err := t.prepare(ctx, e, o)
	return o, prep, err
}

// asFlag is a setting as it is typed: this line alone is for a terminal.
func asFlag(name string) string { return "--" + name }
