package pdf

import (
	"bytes"
	"crypto/sha256"
	"encoding/xml"
	"fmt"
	"strings"
	"unicode/utf16"

	"kitwright/render/letters"
)

// producer is the program that wrote the file, in its metadata.
const Producer = "kitwright"

// pdfString returns a text as a PDF text string, UTF-16 in hexadecimal.
func pdfString(s string) string {
	var b strings.Builder
	b.WriteString("<FEFF")
	for _, u := range utf16.Encode([]rune(plain(s))) {
		fmt.Fprintf(&b, "%04X", u)
	}
	b.WriteByte('>')
	return b.String()
}

// plain leaves out what XML cannot hold, so that both kinds of metadata say
// the same.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, string(letters.Missing)))
}

// info returns the document information dictionary.
func (d *Document) info() []byte {
	date := d.date().Format("(D:20060102150405+00'00')")
	return fmt.Appendf(nil, "<</Title%s/Subject%s/Creator%s/Producer%s/CreationDate%s/ModDate%s/Trapped/False>>",
		pdfString(d.Title), pdfString(d.Subject), pdfString(d.Creator), pdfString(Producer), date, date)
}

// xmp returns the same as XMP, and says that the file is PDF/A-1b, as ISO
// 19005-1, 6.7 wants it. Files with layers don't claim it.
func (d *Document) xmp() []byte {
	var b bytes.Buffer
	esc := func(s string) string {
		var e bytes.Buffer
		_ = xml.EscapeText(&e, []byte(plain(s))) // a bytes.Buffer takes everything
		return e.String()
	}
	date := d.date().Format("2006-01-02T15:04:05+00:00")
	b.WriteString("<?xpacket begin=\"\uFEFF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n")
	b.WriteString("<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n<rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n")
	about := func(space, url, body string) {
		fmt.Fprintf(&b, "<rdf:Description rdf:about=\"\" xmlns:%s=\"%s\">%s</rdf:Description>\n", space, url, body)
	}
	mark := ""
	if d.Mark != "" {
		mark = "<dc:identifier>" + esc(d.Mark) + "</dc:identifier>"
	}
	about("dc", "http://purl.org/dc/elements/1.1/",
		"<dc:format>application/pdf</dc:format>"+
			mark+"<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">"+esc(d.Title)+"</rdf:li></rdf:Alt></dc:title>"+
			"<dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">"+esc(d.Subject)+"</rdf:li></rdf:Alt></dc:description>")
	about("xmp", "http://ns.adobe.com/xap/1.0/",
		"<xmp:CreatorTool>"+esc(d.Creator)+"</xmp:CreatorTool><xmp:CreateDate>"+date+"</xmp:CreateDate><xmp:ModifyDate>"+date+"</xmp:ModifyDate><xmp:MetadataDate>"+date+"</xmp:MetadataDate>")
	trapped := ""
	if d.Press != nil {
		trapped = "<pdf:Trapped>False</pdf:Trapped>"
	}
	about("pdf", "http://ns.adobe.com/pdf/1.3/", "<pdf:Producer>"+Producer+"</pdf:Producer>"+trapped)
	if d.Press != nil {
		sum := sha256.Sum256([]byte(d.Title + "\x00" + d.Subject + "\x00" + d.Mark + "\x00" + d.Date))
		about("pdfxid", "http://www.npes.org/pdfx/ns/id/", "<pdfxid:GTS_PDFXVersion>PDF/X-4</pdfxid:GTS_PDFXVersion>")
		about("xmpMM", "http://ns.adobe.com/xap/1.0/mm/", fmt.Sprintf("<xmpMM:DocumentID>uuid:%x-%x-%x-%x-%x</xmpMM:DocumentID><xmpMM:VersionID>1</xmpMM:VersionID><xmpMM:RenditionClass>default</xmpMM:RenditionClass>",
			sum[:4], sum[4:6], sum[6:8], sum[8:10], sum[10:16]))
	} else if !d.Layers {
		about("pdfaid", "http://www.aiim.org/pdfa/ns/id/", "<pdfaid:part>1</pdfaid:part><pdfaid:conformance>B</pdfaid:conformance>")
	}
	b.WriteString("</rdf:RDF>\n</x:xmpmeta>\n")
	b.WriteString("<?xpacket end=\"w\"?>")
	return b.Bytes()
}

// catalog returns the root of the document.
func (d *Document) catalog(icc, xmp, outline int, ocgs []int) []byte {
	b := fmt.Appendf(nil, "<</Type/Catalog/Pages 1 0 R/Metadata %d 0 R/Lang(en-US)/ViewerPreferences<</DisplayDocTitle true", xmp)
	b = append(b, "/PrintScaling/None>>"...)
	if d.Press != nil {
		name := pdfString(d.Press.Name)
		b = fmt.Appendf(b, "/OutputIntents[<</Type/OutputIntent/S/GTS_PDFX/OutputConditionIdentifier(Custom)/OutputCondition%s/Info%s/DestOutputProfile %d 0 R>>]", name, name, icc)
	} else {
		b = append(b, d.pdfaIntent(icc)...)
	}
	labels := ""
	for i, p := range d.Pages {
		if p.Label != "" {
			labels += fmt.Sprintf("%d<</P%s>>", i, pdfString(p.Label))
		}
	}
	if labels != "" {
		b = append(b, "/PageLabels<</Nums["+labels+"]>>"...)
	}
	if outline > 0 {
		b = fmt.Appendf(b, "/Outlines %d 0 R/PageMode/UseOutlines", outline)
	}
	if len(ocgs) > 0 {
		list := ""
		for _, n := range ocgs {
			list += fmt.Sprintf("%d 0 R ", n)
		}
		b = append(b, "/OCProperties<</OCGs["+list+"]/D<</Name(Layers)/Order["+list+"]/ON["+list+"]>>>>"...)
	}
	return append(b, ">>"...)
}

// outline writes the list of the pages that have a header and returns its
// root, 0 if there are none.
func (d *Document) outline(out *objectWriter, take func() int) int {
	var at []int
	for i, p := range d.Pages {
		if p.Header != "" {
			at = append(at, i)
		}
	}
	if len(at) == 0 {
		return 0
	}
	root := take()
	ids := make([]int, len(at))
	for i := range ids {
		ids[i] = take()
	}
	out.object(root, fmt.Appendf(nil, "<</Type/Outlines/First %d 0 R/Last %d 0 R/Count %d>>", ids[0], ids[len(ids)-1], len(ids)))
	for i, n := range ids {
		b := fmt.Appendf(nil, "<</Title%s/Parent %d 0 R/Dest[%d 0 R/Fit]", pdfString(d.Pages[at[i]].Header), root, 3+2*at[i])
		if i > 0 {
			b = fmt.Appendf(b, "/Prev %d 0 R", ids[i-1])
		}
		if i+1 < len(ids) {
			b = fmt.Appendf(b, "/Next %d 0 R", ids[i+1])
		}
		out.object(n, append(b, ">>"...))
	}
	return root
}

// pdfaIntent is the output intent of PDF/A: sRGB.
func (d *Document) pdfaIntent(icc int) string {
	return fmt.Sprintf("/OutputIntents[<</Type/OutputIntent/S/GTS_PDFA1/OutputConditionIdentifier(sRGB IEC61966-2.1)/Info(sRGB IEC61966-2.1)/RegistryName(http://www.color.org)/DestOutputProfile %d 0 R>>]", icc)
}
