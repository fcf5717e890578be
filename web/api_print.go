package web

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"strings"
	"time"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render"
)

func (t *Table) routesOfPrints() {
	t.api("GET /prints", t.prints)
	t.api("POST /save", func(w http.ResponseWriter, r *http.Request, e *entry) error {
		if _, err := e.need(); err != nil {
			return err
		}
		t.startPrints(e, t.pageID(r))
		answer(w, http.StatusAccepted, map[string]string{"folder": e.kitDir()})
		return nil
	})
	t.api("GET /file/{name}", t.file)
	t.api("GET /zip", t.zip)
	t.api("GET /page/{name}/{page}", t.leaf)
	t.api("GET /file/"+testPrint, func(w http.ResponseWriter, r *http.Request, e *entry) error {
		k, p, err := t.printed(e)
		if err != nil {
			return err
		}
		return send(w, testPrint, func(w io.Writer) error { return render.TestPrint(w, k, p) })
	})
}

// printed returns the kit with the settings its prints are wanted with.
func (t *Table) printed(e *entry) (*kit.Kit, render.Print, error) {
	k, err := e.need()
	if err != nil {
		return nil, render.Print{}, err
	}
	p, err := printOf(e.kept().Print)
	if err != nil {
		return nil, p, err
	}
	if err := p.Check(k); err != nil {
		return nil, p, err
	}
	c := *k
	c.Print = p.Settings()
	return &c, p, nil
}

// job is what the files of a kit are made of. With the photo at hand, those
// that show it are made, too.
func (t *Table) job(ctx context.Context, e *entry, k *kit.Kit, p render.Print) folder.Job {
	j := folder.Job{Kit: k, Print: p}
	if o, prep, err := t.ready(ctx, e); err == nil && !t.stale(e.kept(), k) {
		j.Prepared, j.Picture = prep, prep.Picture(o.Choice)
	}
	return j
}

// prints lists what can be made of a kit.
func (t *Table) prints(w http.ResponseWriter, r *http.Request, e *entry) error {
	k, p, err := t.printed(e)
	if err != nil {
		return err
	}
	list := []any{}
	job := t.job(r.Context(), e, k, p)
	for _, o := range folder.OutputsOf(job) {
		file := map[string]any{"name": o.Name, "word": o.Word(), "what": o.What, "print": o.Print}
		if kindOf(o.Name) == "application/pdf" {
			file["sheets"] = t.sheetsOf(e, o.Name, job)
		}
		list = append(list, file)
	}
	list = append(list, map[string]any{"name": testPrint, "word": "testprint", "what": word("print.test"), "print": true, "apart": true, "sheets": t.sheetsOf(e, testPrint, job)})
	size := render.SheetSize(k, p)
	answer(w, http.StatusOK, map[string]any{
		"files": list, "folder": e.kitDir(), "print": e.kept().Print, "mark": k.Chart.Mark(), "log": logLength(k),
		"sheet": []float64{size.W.MM(), size.H.MM()}, "picture": []float64{k.Width().MM(), k.Height().MM()},
		"advice": texts(p.Advice(k)), "command": t.command(e.kept()), "stale": t.stale(e.kept(), k), "job": t.jobs.of(e.id),
	})
	return nil
}

// send sends a file that is whole, or an error.
func send(w http.ResponseWriter, name string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	attach(w, name, kindOf(name))
	w.Write(b.Bytes())
	return nil
}

// kindOf is the media type of a file.
func kindOf(name string) string {
	switch name[strings.LastIndexByte(name, '.')+1:] {
	case "pdf":
		return "application/pdf"
	case "png":
		return "image/png"
	case "csv":
		return "text/csv; charset=utf-8"
	case "json":
		return "application/json"
	case "zip":
		return "application/zip"
	}
	return "application/octet-stream"
}

// file sends one file of the kit, the same as the kit folder holds.
func (t *Table) file(w http.ResponseWriter, r *http.Request, e *entry) error {
	k, p, err := t.printed(e)
	if err != nil {
		return err
	}
	job := t.job(r.Context(), e, k, p)
	for _, o := range folder.OutputsOf(job) {
		if o.Name == r.PathValue("name") {
			return t.with(r.Context(), t.heavy, func() error {
				return send(w, o.Name, func(w io.Writer) error { return o.Write(w, job) })
			})
		}
	}
	return faulty(http.StatusNotFound, "", "nofile")
}

// zip sends the files of the kit as one archive.
func (t *Table) zip(w http.ResponseWriter, r *http.Request, e *entry) error {
	k, p, err := t.printed(e)
	if err != nil {
		return err
	}
	job := t.job(r.Context(), e, k, p)
	only := strings.FieldsFunc(r.URL.Query().Get("only"), func(r rune) bool { return r == ',' })
	files := folder.OutputsOf(job)
	if len(only) > 0 {
		var some []folder.Output
		for _, o := range files {
			for _, name := range only {
				if o.Name == name {
					some = append(some, o)
				}
			}
		}
		if files = some; len(files) == 0 {
			return faulty(http.StatusUnprocessableEntity, "", "nothing")
		}
	}
	return t.with(r.Context(), t.heavy, func() error {
		return send(w, e.kitName()+".zip", func(w io.Writer) error {
			z := folder.NewZip(w, e.kitName())
			if err := folder.WriteAll(r.Context(), z, files, job); err != nil {
				return err
			}
			return z.Close()
		})
	})
}

// startPrints makes all files of the kit folder that are printed, in its
// place, as the command does after an edit.
func (t *Table) startPrints(e *entry, page string) {
	t.jobs.start(e.id, page, "prints", func(ctx context.Context) error {
		t.settle(ctx, e)
		e.disk.Lock()
		defer e.disk.Unlock()
		if !exists(e.kitDir()) {
			return say.Failed("put it back, or make the kit again", "the kit's folder is gone: %s", e.kitDir())
		}
		dir, err := folder.Begin(e.kitDir(), folder.Kits, folder.Options{Force: true, Keep: true, Spare: true})
		if err != nil {
			return err
		}
		defer dir.Drop()
		k, p, err := t.printed(e) // with the folder ours: an edit by the command can no longer come between
		if err != nil {
			return err
		}
		job := t.job(ctx, e, k, p)
		if err := folder.WriteAll(ctx, dir, folder.OutputsOf(job), job); err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := dir.Finish(); err != nil {
			return err
		}
		e.wrote(k)
		t.hub.tell("printed", map[string]string{"kit": e.id, "folder": e.kitDir()})
		return nil
	})
}

// printLater makes the prints again once nothing was changed for a while.
func (t *Table) printLater(e *entry) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.saver.prints != nil {
		e.saver.prints.Stop()
	}
	e.saver.prints = time.AfterFunc(printsRest, func() {
		busy := !e.saved()
		if _, err := e.lib.get(e.id); err != nil { // removed meanwhile
			return
		}
		if busy || t.jobs.of(e.id) != "" {
			t.printLater(e)
			return
		}
		select {
		case <-t.closing:
		default:
			t.startPrints(e, "")
		}
	})
}

// settle waits until what was edited is on the disk.
func (t *Table) settle(ctx context.Context, e *entry) {
	for ctx.Err() == nil {
		if e.saved() {
			return
		}
		select {
		case <-ctx.Done():
		case <-time.After(10 * time.Millisecond):
		}
	}
}
