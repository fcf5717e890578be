package web

import (
	"image/png"
	"io"
	"net/http"
	"strconv"

	"kitwright/folder"
	"kitwright/render"
	"kitwright/render/pdf"
)

// pagesOf is what a print decides on; nil for a file that is no print of pages.
// The last prints are remembered: a page is looked at leaf by leaf.
func (t *Table) pagesOf(e *entry, name string, job folder.Job) (*pdf.Document, error) {
	of := e.id + "/" + name + "/" + job.Kit.Chart.Mark() + "/" + job.Kit.Title
	p := job.Print.Settings()
	for _, s := range settings() {
		if s["print"] == true {
			of += "\n" + p[s["name"].(string)]
		}
	}
	t.mu.Lock()
	for _, d := range t.decided {
		if d.of == of {
			t.mu.Unlock()
			return d.doc, nil
		}
	}
	t.mu.Unlock()
	doc, err := t.decide(name, job)
	if err != nil {
		return nil, err
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.decided = append([]decided{{of, doc}}, t.decided[:min(len(t.decided), 11)]...)
	return doc, nil
}

type decided struct {
	of  string
	doc *pdf.Document
}

func (t *Table) decide(name string, job folder.Job) (*pdf.Document, error) {
	if name == testPrint {
		return render.Decided(func(w io.Writer) error { return render.TestPrint(w, job.Kit, job.Print) })
	}
	for _, o := range folder.OutputsOf(job) {
		if o.Name == name && kindOf(name) == "application/pdf" {
			return render.Decided(func(w io.Writer) error { return o.Write(w, job) })
		}
	}
	return nil, faulty(http.StatusNotFound, "", "nofile")
}

// testPrint is the file's name of the page that is printed first.
const testPrint = "testprint.pdf"

// leaf is a picture of a page, before it is made.
func (t *Table) leaf(w http.ResponseWriter, r *http.Request, e *entry) error {
	k, p, err := t.printed(e)
	if err != nil {
		return err
	}
	return t.with(r.Context(), t.heavy, func() error {
		doc, err := t.pagesOf(e, r.PathValue("name"), t.job(r.Context(), e, k, p))
		if err != nil {
			return err
		}
		n, _ := strconv.Atoi(r.PathValue("page"))
		long, _ := strconv.Atoi(r.URL.Query().Get("px"))
		if doc == nil || n < 1 || n > len(doc.Pages) {
			return faulty(http.StatusNotFound, "", "nofile")
		}
		w.Header().Set("Content-Type", "image/png")
		enc := png.Encoder{CompressionLevel: png.BestSpeed}
		return enc.Encode(w, doc.Paint(n-1, max(100, min(long, 2400))))
	})
}

// sheetsOf says how many pages each print has, and how large they are.
func (t *Table) sheetsOf(e *entry, name string, job folder.Job) map[string]any {
	doc, err := t.pagesOf(e, name, job)
	if err != nil {
		return map[string]any{"error": faultOfAny(err)}
	}
	if doc == nil {
		return nil
	}
	first := doc.Pages[0]
	return map[string]any{"pages": len(doc.Pages), "width": first.W, "height": first.H}
}
