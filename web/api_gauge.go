package web

import (
	"context"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"net/http"
	"sync"

	"github.com/disintegration/imaging"

	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/palettes/gauge"
	"kitwright/photo"
	"kitwright/render"
)

// gauged is the picture of a card that is in hand: one at a time, in memory,
// until another comes or the table is closed.
type gauged struct {
	mu   sync.Mutex
	id   string
	name string
	img  *image.NRGBA
	card *gauge.Card
	read *gauge.Reading
}

func (t *Table) routesOfGauge() {
	t.mux.HandleFunc("POST /api/gauge", func(w http.ResponseWriter, r *http.Request) {
		if err := t.bringGauged(w, r); err != nil {
			fail(w, err)
		}
	})
	with := func(route string, do func(http.ResponseWriter, *http.Request) error) {
		t.mux.HandleFunc(route, func(w http.ResponseWriter, r *http.Request) {
			t.gauged.mu.Lock()
			defer t.gauged.mu.Unlock()
			err := error(faulty(http.StatusNotFound, "gone", "nogauge"))
			if t.gauged.img != nil && r.PathValue("picture") == t.gauged.id {
				err = do(w, r)
			}
			if err != nil {
				fail(w, err)
			}
		})
	}
	with("GET /api/gauge/{picture}/photo.jpg", func(w http.ResponseWriter, _ *http.Request) error {
		w.Header().Set("Content-Type", "image/jpeg")
		return jpeg.Encode(w, imaging.Fit(t.gauged.img, 2000, 2000, imaging.Box), &jpeg.Options{Quality: 90})
	})
	with("GET /api/gauge/{picture}/seen.png", func(w http.ResponseWriter, _ *http.Request) error {
		if t.gauged.read == nil {
			return faulty(http.StatusNotFound, "", "nofile")
		}
		w.Header().Set("Content-Type", "image/png")
		enc := png.Encoder{CompressionLevel: png.BestSpeed}
		return enc.Encode(w, t.gauged.read.Draw(t.gauged.img))
	})
	with("POST /api/gauge/{picture}", t.measure)
	with("POST /api/gauge/{picture}/keep", t.keepGauged)
	t.mux.HandleFunc("GET /api/gauge/sheets.pdf", func(w http.ResponseWriter, r *http.Request) {
		if err := t.measuringSheets(w, r); err != nil {
			fail(w, err)
		}
	})
}

// bringGauged takes the picture of a card in.
func (t *Table) bringGauged(w http.ResponseWriter, r *http.Request) error {
	select {
	case t.uploads <- struct{}{}:
		defer func() { <-t.uploads }()
	default:
		return faulty(http.StatusTooManyRequests, "busy", "uploads")
	}
	name := photoName(r.URL.Query().Get("name"))
	tmp, f, err := t.receive(w, r, http.MaxBytesReader(w, r.Body, mostUpload))
	if err != nil {
		return err
	}
	defer t.lib.root.Remove(tmp)
	defer f.Close()
	if err := t.try(r.Context(), f, name); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(r.Context(), t.readingTime)
	defer cancel()
	p, err := photo.Read(ctx, f, photo.Limits{Pixels: 80_000_000})
	if err != nil {
		return named(err, name)
	}
	img, _ := p.Upto(gauge.LongSide)
	t.gauged.mu.Lock()
	defer t.gauged.mu.Unlock()
	t.gauged.id, t.gauged.name, t.gauged.img, t.gauged.card, t.gauged.read = random(9), name, img, nil, nil
	answer(w, http.StatusCreated, map[string]any{"picture": t.gauged.id, "width": img.Bounds().Dx(), "height": img.Bounds().Dy(), "name": slug(baseOf(name))})
	return nil
}

// shown is what a picture is said to show.
func shown(sheet bool, codes string) (is gauge.Shown, err error) {
	if sheet {
		list, err := gauge.ParseCodes(word("gauge.codes.named"), codes)
		if err != nil {
			return is, err
		}
		is.Frames, err = render.FramesOf(list)
		return is, err
	}
	rows, err := gauge.ParseLayout(word("gauge.codes.named"), codes)
	if err != nil {
		return is, err
	}
	is.Grid, err = gauge.Grid(rows, gauge.Fill)
	return is, err
}

// measure reads the colors between the corners that were dragged; those of a
// measuring sheet are looked for unless they were.
func (t *Table) measure(w http.ResponseWriter, r *http.Request) error {
	var ask struct {
		Sheet   bool
		Codes   string
		Corners *[4]gauge.Point // in pixels of the picture; nil = looked for
	}
	if err := read(w, r, &ask); err != nil {
		return err
	}
	is, err := shown(ask.Sheet, ask.Codes)
	if err != nil {
		return err
	}
	if !ask.Sheet && ask.Corners == nil {
		return faulty(http.StatusBadRequest, "", "request")
	}
	reading, at, err := is.Read(t.gauged.img, ask.Corners, gauge.Options{})
	if err != nil {
		return err
	}
	card := gauge.Combine("", []*gauge.Reading{reading})
	t.gauged.card, t.gauged.read = card, reading
	first, last := reading.Ends()
	colors := []any{}
	for i, d := range card.Card.Drills {
		x := card.Reads[i]
		colors = append(colors, map[string]any{"address": d.Address(), "hex": lab.Hex(d.RGB), "lab": []float64{d.Lab.L, d.Lab.A, d.Lab.B}, "sure": x.Certainty, "why": sentence(x.Why)})
	}
	warnings := []string{}
	for _, x := range card.Warnings {
		warnings = append(warnings, sentence(x))
	}
	answer(w, http.StatusOK, map[string]any{"colors": colors, "corners": at, "first": first, "last": last, "expect": sentence(card.Expect), "warnings": warnings,
		"good": card.Count(gauge.Good), "fair": card.Count(gauge.Fair), "poor": card.Count(gauge.Poor)})
	return nil
}

// keepGauged keeps what was measured as a card of hers.
func (t *Table) keepGauged(w http.ResponseWriter, r *http.Request) error {
	var ask struct{ Name string }
	if err := read(w, r, &ask); err != nil {
		return err
	}
	if t.gauged.card == nil {
		return faulty(http.StatusConflict, "", "nogauge")
	}
	if t.cfg.Home == "" {
		return say.Failed("start kitwright with {home}", "this system names no place for your cards")
	}
	card := *t.gauged.card.Card
	card.Name = ask.Name
	if _, err := t.shelf.Add(ask.Name, &card, false); err != nil {
		return err
	}
	t.forgetPhotos()
	answer(w, http.StatusCreated, map[string]any{"card": ask.Name, "colors": len(card.Drills)})
	return nil
}

// measuringSheets are pages to lay drills on and to photograph, for her codes.
func (t *Table) measuringSheets(w http.ResponseWriter, r *http.Request) error {
	codes, err := gauge.ParseCodes(word("gauge.codes.named"), r.URL.Query().Get("codes"))
	if err != nil {
		return err
	}
	_, settings := t.defaults()
	p, err := printOf(settings)
	if err != nil {
		return err
	}
	frames, err := gauge.Frames(codes, p.Paper.Size.W.MM(), p.Paper.Size.H.MM())
	if err != nil {
		return err
	}
	return send(w, "frame.pdf", func(w io.Writer) error { return render.MeasuringSheets(w, frames) })
}
