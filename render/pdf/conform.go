package pdf

import (
	"bytes"
	"crypto/md5"
	"fmt"
	"hash"
	"io"
	"strconv"
	"strings"

	"kitwright/render/letters"
)

// The layers of a document, numbered as the operators name them.
const (
	tintLayer = iota
	symbolLayer
	lineLayer
)

var layerNames = []string{tintLayer: "Tint", symbolLayer: "Symbols", lineLayer: "Lines"}

// conform turns the file that gofpdf wrote into the one we want: charts put in
// at their marks, exact page boxes, tagged sRGB with an output intent, XMP
// metadata, an ID, page labels, an outline and layers, and none of gofpdf's
// keys that the standards forbid. What PDF/A-1b (ISO 19005-1:2005) and the PDF
// Reference 1.4 ask is written here from memory: neither text was at hand. The
// tests hold the result against Apache PDFBox Preflight, qpdf and Ghostscript.
func conform(w io.Writer, draw *drawing, raw []byte) error {
	d := draw.doc
	objects, err := split(raw)
	if err != nil {
		return err
	}
	out := &objectWriter{w: w, sum: md5.New()}
	out.str("%PDF-1." + d.minor() + "\n%\xe2\xe3\xcf\xd3\n")

	// gofpdf numbers 1 Pages, 2 Resources, then a page and its content for
	// each page, then fonts, and last Info and Catalog, which are made anew.
	pages := len(d.Pages)
	own := len(objects) - 1
	for own > 0 && !bytes.Contains(objects[own], []byte("/Producer")) {
		own--
	}
	if own <= 2+2*pages {
		return fmt.Errorf("unexpected shape of the raw PDF: %d objects for %d pages", len(objects)-1, pages)
	}
	next := own
	take := func() int { next++; return next - 1 }
	icc, catalog, info, xmp := take(), take(), take(), take()
	intent := icc
	if d.Press != nil {
		intent = take()
	}
	var ocgs []int
	if d.Layers {
		for range layerNames {
			ocgs = append(ocgs, take())
		}
	}

	forms := draw.writeForms(out, take)
	if err := subsets(objects[:own], out, take); err != nil {
		return err
	}
	for n := 1; n < own; n++ {
		switch {
		case n == 2:
			o, err := resources(objects[n], d.Press, icc, ocgs)
			if err == nil && d.Paths {
				o, err = unfont(o, forms)
			}
			if err != nil {
				return err
			}
			out.object(n, o)
		case n >= 3 && n < 3+2*pages && n%2 == 1:
			if err := draw.writePage(out, take, n, objects[n+1]); err != nil {
				return err
			}
		case n >= 3 && n < 3+2*pages: // written with its page
		default:
			out.object(n, compressed(objects[n]))
		}
	}
	out.stream(icc, "/N 3/Filter/FlateDecode", deflated(srgbProfile()))
	outline := 0
	if p := d.Press; p != nil {
		out.stream(intent, fmt.Sprintf("/N %d/Filter/FlateDecode", p.Inks), deflated(p.Profile))
	} else { // a shop's sheet needs none, and checkers of X files take them for links
		outline = d.outline(out, take)
	}
	out.object(catalog, d.catalog(intent, xmp, outline, ocgs))
	out.object(info, d.info())
	out.stream(xmp, "/Type/Metadata/Subtype/XML", d.xmp())
	for i, n := range ocgs {
		out.object(n, []byte("<</Type/OCG/Name"+pdfString(layerNames[i])+">>"))
	}
	out.finish(catalog, info, next)
	return out.err
}

// writePage writes page object n and what is on it.
func (d *drawing) writePage(out *objectWriter, take func() int, n int, raw []byte) error {
	p := d.doc.Pages[(n-3)/2]
	kids, err := content(raw, p, d.doc.Press, d.chunks)
	if err != nil {
		return err
	}
	var refs strings.Builder
	for i, k := range kids {
		id := n + 1
		if i > 0 {
			id = take()
		}
		out.stream(id, "/Filter/FlateDecode", k)
		fmt.Fprintf(&refs, "%d 0 R ", id)
	}
	out.object(n, fmt.Appendf(nil, "<</Type/Page/Parent 1 0 R/Resources 2 0 R%s/Contents[%s]>>", boxes(p, d.doc.Press != nil), refs.String()))
	return nil
}

// minor is the version of PDF that a document needs, behind the 1.
func (d *Document) minor() string {
	switch {
	case d.Press != nil:
		return "6"
	case d.Layers:
		return "5"
	}
	return "4"
}

// split returns the objects of a PDF with a plain cross-reference table, by
// number, without their obj and endobj words.
func split(raw []byte) ([][]byte, error) {
	broken := func(what string) error { return fmt.Errorf("unexpected shape of the raw PDF: %s", what) }
	at := bytes.LastIndex(raw, []byte("startxref\n"))
	if at < 0 {
		return nil, broken("no startxref")
	}
	var start, count int
	if _, err := fmt.Sscanf(string(raw[at+10:]), "%d", &start); err != nil || start >= len(raw) {
		return nil, broken("startxref")
	}
	if _, err := fmt.Sscanf(string(raw[start:min(start+40, len(raw))]), "xref\n0 %d\n", &count); err != nil {
		return nil, broken("xref")
	}
	table := raw[start:]
	table = table[bytes.Index(table, []byte("\n0 "))+1:]
	table = table[bytes.IndexByte(table, '\n')+1:]
	objects := make([][]byte, count)
	for n := 1; n < count; n++ {
		line := table[n*20:]
		offset, err := strconv.Atoi(string(line[:10]))
		if err != nil || offset >= len(raw) {
			return nil, broken("offset")
		}
		body := raw[offset:]
		head := strconv.Itoa(n) + " 0 obj\n"
		if !bytes.HasPrefix(body, []byte(head)) {
			return nil, broken("object " + strconv.Itoa(n))
		}
		body = body[len(head):]
		end := bytes.Index(body, []byte("endobj"))
		if s, length, ok := streamOf(body); ok { // binary data may hold any word
			end = s + length + bytes.Index(body[s+length:], []byte("endobj"))
		}
		if end < 0 {
			return nil, broken("object " + strconv.Itoa(n))
		}
		objects[n] = body[:end]
	}
	return objects, nil
}

// streamOf returns where the data of a stream object begins and how long it
// is.
func streamOf(body []byte) (start, length int, ok bool) {
	at := bytes.Index(body, []byte("stream\n"))
	if at < 0 {
		return 0, 0, false
	}
	key := bytes.LastIndex(body[:at], []byte("/Length "))
	if key < 0 || bytes.Contains(body[:at], []byte("endobj")) {
		return 0, 0, false
	}
	if _, err := fmt.Sscanf(string(body[key+8:at]), "%d", &length); err != nil {
		return 0, 0, false
	}
	return at + len("stream\n"), length, true
}

// resources adds the color space that tags every RGB color, and the layers, to
// the resources that all pages share.
func resources(o []byte, press *Press, icc int, ocgs []int) ([]byte, error) {
	space := []byte("/ColorSpace <<")
	if bytes.Count(o, space) != 1 {
		return nil, fmt.Errorf("unexpected shape of the raw PDF: resources")
	}
	rgb := fmt.Sprintf("/ColorSpace <<\n/DefaultRGB [/ICCBased %d 0 R]", icc)
	if press != nil && press.Ink != nil {
		rgb = pressStates + "/ColorSpace <<\n" // all colors are the machine's own
	}
	if len(ocgs) > 0 {
		props := "/Properties <<"
		for i, n := range ocgs {
			props += fmt.Sprintf("/OC%d %d 0 R", i, n)
		}
		rgb = props + ">>\n" + rgb
	}
	o = bytes.Replace(o, space, []byte(rgb), 1)
	return bytes.Replace(o, []byte("/ProcSet [/PDF /Text /ImageB /ImageC /ImageI]\n"), nil, 1), nil
}

// content returns the deflated streams of a page, in order.
func content(o []byte, p *Page, press *Press, chunks []*chunk) ([][]byte, error) {
	start, length, ok := streamOf(o)
	if !ok {
		return nil, fmt.Errorf("unexpected shape of the raw PDF: page content")
	}
	body := o[start : start+length]
	if press != nil && press.Ink != nil {
		body = press.inked(body)
	}
	body = bytes.ReplaceAll(body, []byte(textMark), nil)
	sx, sy := p.Factors()
	var plain bytes.Buffer
	if sx != 1 || sy != 1 {
		var dx, dy float64
		if p.FixedBox {
			dx, dy = (1-sx)*p.W/2/letters.PointMM, (1-sy)*p.H/2/letters.PointMM
		}
		fmt.Fprintf(&plain, "q %.6f 0 0 %.6f %.6f %.6f cm\n", sx, sy, dx, dy)
	}
	var out [][]byte
	for i, part := range bytes.Split(body, []byte(cutMark+"\n")) {
		if i%2 == 1 {
			continue // drawn only to get its glyphs into the font
		}
		for {
			at := bytes.Index(part, []byte(chunkMark))
			if at < 0 {
				plain.Write(part)
				break
			}
			plain.Write(part[:at])
			part = part[at+len(chunkMark):]
			end := bytes.IndexByte(part, '\n')
			n, err := strconv.Atoi(string(part[:end]))
			if err != nil {
				return nil, fmt.Errorf("unexpected mark in a page: %w", err)
			}
			part = part[end+1:]
			if plain.Len() > 0 {
				out = append(out, deflated(plain.Bytes()))
				plain.Reset()
			}
			out = append(out, chunks[n].data.Bytes())
		}
	}
	if sx != 1 || sy != 1 {
		plain.WriteString("Q\n")
	}
	if plain.Len() > 0 {
		out = append(out, deflated(plain.Bytes()))
	}
	return out, nil
}

// boxes returns the page boxes, exact to 1/10000 point.
func boxes(p *Page, always bool) string {
	sx, sy := p.Factors()
	if p.FixedBox {
		sx, sy = 1, 1
	}
	w, h, m := p.W+2*p.Margin(), p.H+2*p.Margin(), p.Margin()
	box := func(name string, inset float64) string {
		b := []byte("/" + name + "[")
		for _, v := range [4]float64{inset * sx, inset * sy, (w - inset) * sx, (h - inset) * sy} {
			b = appendReal(b, v/letters.PointMM, 4)
			b = append(b, ' ')
		}
		b[len(b)-1] = ']'
		return string(b)
	}
	s := box("MediaBox", 0)
	if m > 0 || always {
		s += box("BleedBox", p.Slug) + box("TrimBox", m)
	}
	return s
}

// compressed deflates a stream that gofpdf left plain.
func compressed(o []byte) []byte {
	start, length, ok := streamOf(o)
	if !ok || bytes.Contains(o[:start], []byte("/Filter")) || length < 100 {
		return o
	}
	data := deflated(o[start : start+length])
	return append(fmt.Appendf(nil, "<</Filter/FlateDecode/Length %d>>\nstream\n", len(data)), append(data, "\nendstream"...)...)
}

// objectWriter writes numbered objects and remembers where they lie.
type objectWriter struct {
	w       io.Writer
	sum     hash.Hash
	at      int
	offsets []int
	err     error
}

func (o *objectWriter) bytes(b []byte) {
	if o.err == nil {
		_, o.err = o.w.Write(b)
	}
	o.sum.Write(b)
	o.at += len(b)
}

func (o *objectWriter) str(s string) { o.bytes([]byte(s)) }

func (o *objectWriter) begin(n int) {
	for len(o.offsets) <= n {
		o.offsets = append(o.offsets, 0)
	}
	o.offsets[n] = o.at
	o.str(strconv.Itoa(n) + " 0 obj\n")
}

func (o *objectWriter) object(n int, body []byte) {
	o.begin(n)
	o.bytes(bytes.TrimRight(body, "\n"))
	o.str("\nendobj\n")
}

func (o *objectWriter) stream(n int, dict string, data []byte) {
	o.begin(n)
	o.str("<<" + dict + "/Length " + strconv.Itoa(len(data)) + ">>\nstream\n")
	o.bytes(data)
	o.str("\nendstream\nendobj\n")
}

// finish writes the cross-reference table and the trailer, whose ID is the sum
// of everything before it.
func (o *objectWriter) finish(catalog, info, count int) {
	id := fmt.Sprintf("%x", o.sum.Sum(nil))
	start := o.at
	var b bytes.Buffer
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", count)
	for n := 1; n < count; n++ {
		fmt.Fprintf(&b, "%010d 00000 n \n", o.offsets[n])
	}
	fmt.Fprintf(&b, "trailer\n<</Size %d/Root %d 0 R/Info %d 0 R/ID[<%s><%s>]>>\nstartxref\n%d\n%%%%EOF\n", count, catalog, info, id, id, start)
	o.bytes(b.Bytes())
}
