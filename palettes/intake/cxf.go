package intake

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/spectral"
	"kitwright/lab"
	"kitwright/palettes"
)

func looksXML(text string) bool {
	head := strings.TrimSpace(text[:min(len(text), 4096)])
	return strings.HasPrefix(head, "<?xml") || strings.HasPrefix(head, "<") && strings.Contains(head, "CxF")
}

// cxfObject is a color of a CxF file.
type cxfObject struct {
	line     int
	name, id string
	values   []cxfValue
}

// cxfValue is one of the ways a color is given.
type cxfValue struct {
	kind string // the element's name
	spec string
	attr map[string]string
	part map[string]string // what stands in its children, by name
	text strings.Builder
}

// cxfSpec is a color specification: under which light, for which observer,
// from which wavelength on.
type cxfSpec struct{ illuminant, observer, start, step string }

// readCxF reads the colors of a CxF3 file (ISO 17972-1), such as CxF/X-4:
// spectra where the observer of 2 degrees is told, then L*a*b*, XYZ, sRGB.
func readCxF(name, text string) (*Result, error) {
	objects, specs, err := scanCxF(name, text)
	if err != nil {
		return nil, err
	}
	m := newMaker(name, "measurements (CxF)")
	said := map[string]bool{}
	for _, o := range objects {
		code := o.name
		if code == "" {
			code = o.id
		}
		if len(o.values) == 0 {
			m.leave(o.line, code, "no color values")
			continue
		}
		c, from, why := o.color(specs)
		if why != "" {
			m.leave(o.line, code, "%s", why)
			continue
		}
		if !said[from] {
			said[from] = true
			m.note("%s", from)
		}
		m.add(o.line, code, o.name, palettes.Finish(""), c)
	}
	return m.done("export the objects' L*a*b* values or spectra as CxF/X-4")
}

// scanCxF gathers objects and specifications. Elements count by their local
// names; entities of a document's own are refused.
//
// long: one state machine over the kinds of tokens.
func scanCxF(name, text string) (objects []*cxfObject, specs map[string]*cxfSpec, err error) {
	const hint = "export it again as CxF/X-4, or as CGATS text"
	bad := func(line int, format string, args ...any) error {
		return say.Failed(hint, "%s, line %d: "+format, append([]any{name, line}, args...)...)
	}
	specs = map[string]*cxfSpec{}
	d := xml.NewDecoder(strings.NewReader(text))
	d.CharsetReader = func(_ string, r io.Reader) (io.Reader, error) { return r, nil } // it is UTF-8 already
	var path []string
	var object *cxfObject
	var value *cxfValue
	var spec *cxfSpec
	for {
		token, err := d.Token()
		line, _ := d.InputPos()
		if errors.Is(err, io.EOF) {
			return objects, specs, nil
		}
		if err != nil {
			return nil, nil, bad(line, "it is not XML (%s)", clip(err.Error(), 120))
		}
		switch e := token.(type) {
		case xml.Directive:
			return nil, nil, bad(line, "it brings its own document type, which is not read")
		case xml.StartElement:
			tag := e.Name.Local
			if len(path) == 0 && tag != "CxF" {
				return nil, nil, bad(line, "its outermost element is %q, not CxF", clip(tag, 40))
			}
			if path = append(path, tag); len(path) > maxDepth {
				return nil, nil, bad(line, "its elements are nested more than %d deep", maxDepth)
			}
			attr := map[string]string{}
			for _, a := range e.Attr {
				attr[a.Name.Local] = clip(a.Value, maxCell)
			}
			switch {
			case tag == "Object" && object == nil:
				object = &cxfObject{line: line, name: attr["Name"], id: attr["Id"]}
				if objects = append(objects, object); len(objects) > MaxRows {
					return nil, nil, bad(line, "more than %d objects", MaxRows)
				}
			case tag == "ColorSpecification" && object == nil:
				spec = &cxfSpec{}
				specs[attr["Id"]] = spec
			case tag == "WavelengthRange" && spec != nil:
				spec.start, spec.step = attr["StartWL"], attr["Increment"]
			case object != nil && value == nil && len(path) > 1 && path[len(path)-2] == "ColorValues" && len(object.values) < 20:
				object.values = append(object.values, cxfValue{kind: tag, spec: attr["ColorSpecification"], attr: attr, part: map[string]string{}})
				value = &object.values[len(object.values)-1]
			}
		case xml.EndElement:
			switch tag := path[len(path)-1]; {
			case tag == "Object":
				object, value = nil, nil
			case tag == "ColorSpecification":
				spec = nil
			case value != nil && tag == value.kind:
				value = nil
			}
			path = path[:len(path)-1]
		case xml.CharData:
			if len(path) == 0 {
				continue
			}
			tag := path[len(path)-1]
			switch {
			case value != nil && tag == value.kind:
				if value.text.Len() < 1<<16 {
					value.text.Write(e)
				}
			case value != nil:
				value.part[tag] = clip(value.part[tag]+string(e), 100)
			case spec != nil && tag == "Illuminant":
				spec.illuminant += clip(string(e), 40)
			case spec != nil && tag == "Observer":
				spec.observer += clip(string(e), 40)
			}
		}
	}
}

// color returns the color of an object by the best of its values, what it was
// taken from, or why it has none.
func (o *cxfObject) color(specs map[string]*cxfSpec) (c lab.Color, from, why string) {
	for _, kind := range []string{"ReflectanceSpectrum", "ColorCIELab", "ColorCIEXYZ", "ColorSRGB"} {
		for i := range o.values {
			v := &o.values[i]
			if v.kind != kind {
				continue
			}
			spec := specs[v.spec]
			if spec == nil {
				spec = &cxfSpec{}
			}
			var reason string
			switch kind {
			case "ReflectanceSpectrum":
				c, from, reason = v.spectral(spec)
			case "ColorCIELab":
				c, from, reason = v.lab(spec)
			case "ColorCIEXYZ":
				c, from, reason = v.xyz(spec)
			default:
				c, from, reason = v.srgb()
			}
			if reason == "" {
				return c, from, ""
			}
			if why == "" {
				why = reason
			}
		}
	}
	if why == "" {
		why = "no value of a kind that is read: spectrum of reflectance, CIELab, CIEXYZ, sRGB"
	}
	return c, from, why
}

// white returns the white of L*a*b* or XYZ values, or why it is not known.
func (s *cxfSpec) white() (White, string) {
	light := strings.ToUpper(strings.TrimSpace(s.illuminant))
	if strings.Contains(s.observer, "10") {
		return AnyWhite, "its values are for the 10 degree observer"
	}
	switch light {
	case "D50", "":
		return D50, ""
	case "D65":
		return D65, ""
	}
	return AnyWhite, "its values are for the illuminant " + clip(light, 20)
}

func (v *cxfValue) numbers(names ...string) (out [3]float64, ok bool) {
	for i, n := range names {
		x, good := numeral(strings.TrimSpace(v.part[n]))
		if !good {
			return out, false
		}
		out[i] = x
	}
	return out, true
}

func (v *cxfValue) spectral(spec *cxfSpec) (c lab.Color, from, why string) {
	if !strings.HasPrefix(strings.TrimSpace(spec.observer), "2") || spec.illuminant == "" {
		return c, "", "a spectrum whose observer and illuminant are not told"
	}
	start := v.attr["StartWL"]
	if start == "" {
		start = spec.start
	}
	s := spectral.Spectrum{}
	var ok1, ok2 bool
	s.From, ok1 = numeral(start)
	s.Step, ok2 = numeral(spec.step)
	if v.attr["Increment"] != "" {
		s.Step, ok2 = numeral(v.attr["Increment"])
	}
	for _, w := range strings.Fields(v.text.String()) {
		x, ok := numeral(w)
		if !ok || len(s.Value) > 1000 {
			return c, "", "its spectrum is not a row of numbers"
		}
		s.Value = append(s.Value, x)
	}
	if !ok1 || !ok2 || !s.Usable() {
		return c, "", "its spectrum does not reach from 400 to 700 nm in even steps, or holds values that no color has"
	}
	return s.Color(), "colors come from the spectra, by the CIE 1931 observer under D65", ""
}

func (v *cxfValue) lab(spec *cxfSpec) (c lab.Color, from, why string) {
	n, ok := v.numbers("L", "A", "B")
	if !ok || !(n[0] >= -1 && n[0] <= 105 && math.Abs(n[1]) <= 200 && math.Abs(n[2]) <= 200) {
		return c, "", "its L*a*b* is no color"
	}
	white, why := spec.white()
	return lab.Relative(n[0], n[1], n[2], white.xyz()), spec.told(white, "L*a*b*"), why
}

func (v *cxfValue) xyz(spec *cxfSpec) (c lab.Color, from, why string) {
	n, ok := v.numbers("X", "Y", "Z")
	for i := range n {
		n[i] /= 100
		ok = ok && n[i] >= 0 && n[i] < 2
	}
	if !ok {
		return c, "", "its XYZ is no color"
	}
	white, why := spec.white()
	n = lab.Adapt(n, white.xyz())
	return lab.FromXYZ(n[0], n[1], n[2]), spec.told(white, "XYZ"), why
}

func (s *cxfSpec) told(white White, what string) string {
	switch {
	case white == D65:
		return what + " relative to D65"
	case s.illuminant == "":
		return what + " taken as relative to D50, since no illuminant is told, and brought to D65 by Bradford"
	}
	return what + " brought from D50 to D65 by Bradford"
}

func (v *cxfValue) srgb() (c lab.Color, from, why string) {
	n, ok := v.numbers("R", "G", "B")
	most := 255.0
	if m, err := strconv.ParseFloat(v.attr["MaxRange"], 64); err == nil && m > 0 {
		most = m
	}
	var rgb [3]uint8
	for i, x := range n {
		ok = ok && x >= 0 && x <= most
		rgb[i] = uint8(math.Round(min(255, max(0, x/most*255))))
	}
	if !ok {
		return c, "", "its RGB is no color"
	}
	return lab.FromSRGB(rgb), "RGB taken as sRGB", ""
}
