package web

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"
	"os"
	"strings"
	"time"

	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/kit"
	"kitwright/photo"
)

// mostUpload is the size of a photo's file that is taken: that of the command.
const mostUpload = 300 << 20

// mostReading is how long reading a photo may take.
const mostReading = 2 * time.Minute

func (t *Table) routesOfKits() {
	t.mux.HandleFunc("GET /api/kits", func(w http.ResponseWriter, r *http.Request) {
		list := []any{}
		for _, id := range t.lib.list() {
			list = append(list, t.onTable(id))
		}
		answer(w, http.StatusOK, map[string]any{"kits": list, "library": t.lib.dir})
	})
	t.mux.HandleFunc("POST /api/kits", func(w http.ResponseWriter, r *http.Request) {
		select {
		case t.uploads <- struct{}{}:
			defer func() { <-t.uploads }()
		default:
			fail(w, faulty(http.StatusTooManyRequests, "busy", "uploads"))
			return
		}
		id, err := t.bring(w, r)
		if err != nil {
			fail(w, err)
			return
		}
		t.hub.tell("table", nil)
		answer(w, http.StatusCreated, map[string]string{"kit": id})
	})
	t.mux.HandleFunc("POST /api/restore", func(w http.ResponseWriter, r *http.Request) {
		var ask struct{ Place string }
		err := read(w, r, &ask)
		var id string
		if err == nil {
			id, err = t.lib.restore(ask.Place)
		}
		if err != nil {
			fail(w, err)
			return
		}
		t.hub.tell("table", nil)
		answer(w, http.StatusOK, map[string]string{"kit": id})
	})
	t.api("POST /trash", t.trash)
	t.api("POST /copy", t.copyKit)
	t.api("POST /name", t.rename)
}

// trash moves a kit to the trash folder of the library.
func (t *Table) trash(w http.ResponseWriter, r *http.Request, e *entry) error {
	t.jobs.cancel(func(kit, _ string) bool { return kit == e.id })
	t.flush(2 * time.Second)
	place, err := t.lib.trash(e.id)
	if err != nil {
		return err
	}
	t.hub.tell("table", nil)
	answer(w, http.StatusOK, map[string]string{"place": place})
	return nil
}

// copyKit lays a copy of a kit on the table.
func (t *Table) copyKit(w http.ResponseWriter, r *http.Request, e *entry) error {
	t.flush(2 * time.Second)
	st := e.kept()
	st.Name = short(st.Name + " " + word("kits.copied"))
	e.disk.Lock()
	id, err := t.lib.copyKit(e.id, st)
	e.disk.Unlock()
	if err != nil {
		return err
	}
	t.hub.tell("table", nil)
	answer(w, http.StatusCreated, map[string]string{"kit": id})
	return nil
}

// rename gives a kit another name, which its prints bear, too.
func (t *Table) rename(w http.ResponseWriter, r *http.Request, e *entry) error {
	var ask struct{ Name string }
	if err := read(w, r, &ask); err != nil {
		return err
	}
	name := strings.TrimSpace(ask.Name)
	if name == "" {
		return faulty(http.StatusUnprocessableEntity, "", "noname")
	}
	settings := e.kept().Order
	settings["title"] = name
	if _, err := orderOf(settings); err != nil {
		return err
	}
	if err := e.keep(func(st *stored) { st.Name, st.Order["title"] = name, name }); err != nil {
		return err
	}
	t.hub.tell("table", nil)
	t.hub.tell("order", map[string]string{"kit": e.id, "page": t.pageID(r)})
	if k, err := e.kit(); err == nil && k != nil { // its prints bear the new name
		t.startKit(e, t.pageID(r))
	}
	answer(w, http.StatusOK, map[string]string{"name": name})
	return nil
}

// onTable is what the list shows of a kit.
func (t *Table) onTable(id string) any {
	e, err := t.lib.get(id)
	if err != nil {
		return map[string]any{"id": id, "name": id, "error": faultOfAny(err)}
	}
	st := e.kept()
	line := map[string]any{"id": id, "name": st.Name, "photo": st.Photo, "order": map[string]string{"size": st.Order["size"], "colors": st.Order["colors"]}}
	k, err := e.kit()
	switch {
	case err != nil:
		line["error"] = faultOfAny(err)
	case k != nil:
		line["made"] = map[string]any{"cols": k.Chart.Cols, "rows": k.Chart.Rows, "colors": len(k.Chart.Legend), "drills": k.Chart.Drills(),
			"width": k.Width().MM(), "height": k.Height().MM(), "mark": k.Chart.Mark(), "placed": t.placed(e)}
	}
	return line
}

// placed is how many drills of a kit are set, 0 where that cannot be told.
func (t *Table) placed(e *entry) int {
	if _, g, err := t.progress(e); err == nil {
		return g.Set()
	}
	return 0
}

func faultOfAny(err error) *fault {
	var f *fault
	if errors.As(err, &f) {
		return f
	}
	return faultOf(err)
}

// bring takes a photo in and lays it on the table.
func (t *Table) bring(w http.ResponseWriter, r *http.Request) (string, error) {
	name, demo := r.URL.Query().Get("name"), r.URL.Query().Get("demo") != ""
	if r.ContentLength > mostUpload {
		w.Header().Set("Connection", "close")
		return "", faulty(http.StatusRequestEntityTooLarge, "", "large")
	}
	var in io.Reader = http.MaxBytesReader(w, r.Body, mostUpload)
	if demo {
		name, in = photo.DemoName, bytes.NewReader(photo.Demo())
	}
	name = photoName(name)
	tmp, f, err := t.receive(w, r, in)
	if err != nil {
		return "", err
	}
	defer t.lib.root.Remove(tmp) // moved away by then, if all went well
	defer f.Close()
	if !demo {
		if err := t.try(r.Context(), f, name); err != nil {
			return "", err
		}
	}
	ctx, cancel := context.WithTimeout(r.Context(), t.readingTime)
	defer cancel()
	src, err := kit.Open(ctx, f, name, t.cards()...)
	if err != nil {
		return "", named(err, name)
	}
	_ = f.Close() // some systems move no file that is open
	return t.lay(src, tmp, name, demo)
}

// receive takes a photo's file in, to lie in the library until it is read.
func (t *Table) receive(w http.ResponseWriter, r *http.Request, in io.Reader) (string, *os.File, error) {
	tmp := comingDir + "/" + random(9)
	_ = t.lib.root.Mkdir(comingDir, 0o700) // there already, or the next line says why not
	f, err := t.lib.root.OpenFile(tmp, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return "", nil, say.File("the photo cannot be kept", t.lib.path(comingDir), err)
	}
	n, err := io.Copy(f, in)
	if err == nil {
		err = f.Sync()
	}
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err == nil && n > 0 {
		return tmp, f, nil
	}
	_ = f.Close()
	_ = t.lib.root.Remove(tmp)
	var much *http.MaxBytesError
	switch {
	case errors.As(err, &much):
		w.Header().Set("Connection", "close")
		return "", nil, faulty(http.StatusRequestEntityTooLarge, "", "large")
	case err != nil && r.Context().Err() != nil:
		return "", nil, r.Context().Err()
	case err != nil:
		return "", nil, say.File("the photo cannot be kept", t.lib.path(comingDir), err)
	}
	return "", nil, faulty(http.StatusUnprocessableEntity, "", "empty")
}

// named names the photo in an error about it.
func named(err error, name string) error {
	var said *say.Error
	if errors.As(err, &said) && !said.Usage {
		return said.At("“%s”", name)
	}
	return err
}

// lay gives a photo that was read its place on the table.
func (t *Table) lay(src *kit.Source, tmp, name string, demo bool) (string, error) {
	order, print := t.defaults()
	st := stored{Format: tableForm, Photo: name, Demo: demo, Order: order, Print: print}
	st.Name = short(wording.Printable(baseOf(name)))
	if demo {
		st.Name = word("kits.demo")
		order["title"] = "" // as the command's demo kit has it
	}
	id, err := t.lib.makeFolder(slug(baseOf(name)))
	if err != nil {
		return "", err
	}
	if err := t.lib.root.Rename(tmp, id+"/"+name); err != nil {
		_ = t.lib.root.RemoveAll(id)
		return "", say.File("the photo cannot be kept", t.lib.path(id, name), err)
	}
	if err := t.lib.writeStored(id, &st); err != nil {
		_ = t.lib.root.RemoveAll(id)
		return "", err
	}
	e, err := t.lib.get(id)
	if err != nil {
		return "", err
	}
	e.work.Lock()
	e.source = src
	e.work.Unlock()
	t.opened(e)
	return id, nil
}

// short keeps a name as long as a title may be.
func short(name string) string {
	r := []rune(strings.TrimSpace(name))
	return strings.TrimSpace(string(r[:min(len(r), wording.Title.Most())]))
}
