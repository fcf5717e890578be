package intake

import (
	"fmt"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/spectral"
	"kitwright/lab"
	"kitwright/palettes"
)

// looksCGATS tells the text files of measuring instruments: CGATS.17, ISO 28178.
func looksCGATS(text string) bool {
	head := text[:min(len(text), 1<<16)]
	return strings.Contains(head, "BEGIN_DATA_FORMAT")
}

// measured is a data table of such a file.
type measured struct {
	fields []string // in capitals
	sets   []record
	keys   map[string]string // what stands above it, by keyword in capitals
}

// readCGATS reads the text file of an instrument (ANSI CGATS.17-2009, ISO
// 28178:2009): spectra by the CIE 1931 observer under D65, otherwise L*a*b* or
// XYZ brought from the file's white (D50 unless it says otherwise, ISO 13655)
// to D65 by Bradford, otherwise RGB.
func readCGATS(name, text string, opt Options) (*Result, error) {
	tables, err := cgatsTables(name, text)
	if err != nil {
		return nil, err
	}
	m := newMaker(name, "measurements (CGATS.17 text)")
	for _, t := range tables {
		if said := strings.Fields(t.keys["NUMBER_OF_SETS"]); len(said) > 0 {
			if n, err := strconv.Atoi(said[len(said)-1]); err == nil && n != len(t.sets) {
				m.note("the file says %s, and there are %d: it may be cut off", say.Count(n, "row"), len(t.sets))
			}
		}
		if err := t.read(m, opt); err != nil {
			return nil, err
		}
	}
	return m.done("export L*a*b*, XYZ or spectra with SAMPLE_NAME or SAMPLE_ID from the instrument's program")
}

// cgatsTables parts the text into its tables.
func cgatsTables(name, text string) (tables []*measured, err error) {
	const hint = "export it again from the instrument's program"
	keys := map[string]string{}
	var t *measured
	format, data, rows := false, false, 0
	i := -1
	for line := range strings.Lines(text) {
		i++
		words := cgatsWords(strings.TrimSuffix(line, "\n"))
		if len(words) == 0 {
			continue
		}
		switch first := strings.ToUpper(words[0]); {
		case first == "BEGIN_DATA_FORMAT":
			t = &measured{keys: keys}
			format = true
		case first == "END_DATA_FORMAT":
			format = false
		case format && first == "BEGIN_DATA":
			return nil, say.Failed(hint, "%s, line %d: the data begins before END_DATA_FORMAT", name, i+1)
		case format:
			for _, w := range words {
				t.fields = append(t.fields, strings.ToUpper(w))
			}
			if len(t.fields) > maxFields {
				return nil, say.Failed(hint, "%s, line %d: more than %d fields", name, i+1, maxFields)
			}
		case first == "BEGIN_DATA":
			if t == nil {
				return nil, say.Failed(hint, "%s, line %d: data without a data format before it", name, i+1)
			}
			t = &measured{keys: keys, fields: t.fields} // a further table may keep the format
			tables = append(tables, t)
			data = true
		case first == "END_DATA":
			data = false
			copied := map[string]string{}
			for k, v := range keys {
				copied[k] = v
			}
			keys = copied
		case data:
			if rows++; rows > MaxRows {
				return nil, say.Failed("keep the rows that are drills", "%s holds more than %s", name, say.Count(MaxRows, "row"))
			}
			t.sets = append(t.sets, record{line: i + 1, shown: words})
		case len(words) > 1:
			key := first
			if first == "KEYWORD" {
				continue
			}
			keys[key] = strings.Trim(keys[key]+" "+strings.Join(words[1:], " "), " ")
		}
	}
	return tables, nil
}

// cgatsWords parts a line at white, quotes kept together, a remark left out.
func cgatsWords(line string) (words []string) {
	for i := 0; i < len(line); {
		switch c := line[i]; {
		case c == ' ' || c == '\t' || c == '\r':
			i++
		case c == '#':
			return words
		case c == '"':
			end := strings.IndexByte(line[i+1:], '"')
			if end < 0 {
				end = len(line) - i - 1
			}
			words = append(words, clip(line[i+1:i+1+end], maxCell))
			i += end + 2
		default:
			end := strings.IndexAny(line[i:], " \t\r")
			if end < 0 {
				end = len(line) - i
			}
			words = append(words, clip(line[i:i+end], maxCell))
			i += end
		}
		if len(words) > maxFields {
			return words
		}
	}
	return words
}

// band matches the names that fields of a spectrum have: SPECTRAL_NM400,
// SPECTRAL_NM_400, NM400, SPEC_400, R_400, SPECTRAL_DEC400, SPECTRAL_PCT400.
var band = regexp.MustCompile(`^(?:SPECTRAL_?(NM|DEC|PCT)?_?|SPEC_?|NM_?|R_?)(\d{3})(?:\.0+)?(?:NM)?$`)

// at returns the place of a field, -1 if there is none.
func (t *measured) at(names ...string) int {
	for _, n := range names {
		for i, f := range t.fields {
			if f == n {
				return i
			}
		}
	}
	return -1
}

// read reads the sets of a table into the card.
func (t *measured) read(m *maker, opt Options) error {
	id, label := t.at("SAMPLE_ID", "SAMPLEID", "SAMPLE_LOC"), t.at("SAMPLE_NAME", "SAMPLENAME", "CODE")
	if label < 0 {
		label = id
	}
	description := t.at("DESCRIPTION", "NAME")
	light := t.light()
	white := opt.White
	lab3 := [3]int{t.at("LAB_L"), t.at("LAB_A"), t.at("LAB_B")}
	xyz3 := [3]int{t.at("XYZ_X"), t.at("XYZ_Y"), t.at("XYZ_Z")}
	rgb3 := [3]int{t.at("RGB_R", "SRGB_R"), t.at("RGB_G", "SRGB_G"), t.at("RGB_B", "SRGB_B")}
	bands := t.bands()
	kind := ""
	switch {
	case len(bands) > 0:
		kind = "spectra"
		m.note("colors come from the spectra, by the CIE 1931 observer under D65")
	case lab3[0] >= 0 && lab3[1] >= 0 && lab3[2] >= 0:
		kind = "lab"
	case xyz3[0] >= 0 && xyz3[1] >= 0 && xyz3[2] >= 0:
		kind = "xyz"
	case rgb3[0] >= 0 && rgb3[1] >= 0 && rgb3[2] >= 0:
		kind = "rgb"
		m.note("RGB was taken as sRGB")
	default:
		return nil // a table without colors, such as one of densities
	}
	if kind == "lab" || kind == "xyz" {
		if strings.Contains(light.observer, "10") && white == AnyWhite {
			return say.Failed("export them for the 2 degree observer, or export spectra", "%s holds values for the 10 degree observer, which cannot be brought to another", m.file)
		}
		if white == AnyWhite {
			if white = light.white; white == AnyWhite {
				if light.name != "" {
					return say.Failed("export them for D50 or D65, or export spectra", "%s holds values for the illuminant %q", m.file, light.name)
				}
				white = D50
				m.note("no illuminant is told: D50 was taken, as is usual for instruments; say {white} d65 if not")
			}
		}
		if white == D50 {
			m.note("brought from D50 to D65 by Bradford")
		}
	}
	for _, r := range t.sets {
		code := r.cell(label)
		if code == "" {
			code = r.cell(id)
		}
		if len(r.shown) < len(t.fields) {
			m.leave(r.line, code, "%d values for %d fields", len(r.shown), len(t.fields))
			continue
		}
		c, why := t.color(r, kind, lab3, xyz3, rgb3, bands, white)
		if why != "" {
			m.leave(r.line, code, "%s", why)
			continue
		}
		m.add(r.line, code, r.cell(description), palettes.Finish(""), c)
	}
	return nil
}

// color returns the color of a set, or why it has none.
func (t *measured) color(r record, kind string, lab3, xyz3, rgb3 [3]int, bands []int, white White) (c lab.Color, why string) {
	read := func(at [3]int) (v [3]float64) {
		for i, f := range at {
			x, ok := numeral(r.cell(f))
			if !ok {
				why = fmt.Sprintf("%q is not a number", clip(r.cell(f), 40))
			}
			v[i] = x
		}
		return v
	}
	switch kind {
	case "spectra":
		s := spectral.Spectrum{From: t.nm(bands[0])}
		s.Step = t.nm(bands[1]) - s.From
		top := 0.0
		for _, b := range bands {
			x, ok := numeral(r.cell(b))
			if !ok {
				return c, fmt.Sprintf("%q is not a number", clip(r.cell(b), 40))
			}
			s.Value = append(s.Value, x)
			top = max(top, x)
		}
		if t.percent() {
			for i := range s.Value {
				s.Value[i] /= 100
			}
		}
		if !s.Usable() {
			return c, "its spectrum does not reach from 400 to 700 nm, or holds values that no color has"
		}
		return s.Color(), ""
	case "lab":
		v := read(lab3)
		if why == "" && !(v[0] >= -1 && v[0] <= 105 && math.Abs(v[1]) <= 200 && math.Abs(v[2]) <= 200) {
			why = fmt.Sprintf("L %s, a %s, b %s is no color", short(v[0]), short(v[1]), short(v[2]))
		}
		return lab.Relative(v[0], v[1], v[2], white.xyz()), why
	case "xyz":
		v := read(xyz3)
		for i := range v {
			if v[i] /= 100; why == "" && !(v[i] >= 0 && v[i] < 2) {
				why = "its XYZ is no color"
			}
		}
		v = lab.Adapt(v, white.xyz())
		return lab.FromXYZ(v[0], v[1], v[2]), why
	}
	v := read(rgb3)
	var rgb [3]uint8
	for i, x := range v {
		if why == "" && !(x >= 0 && x <= 255) {
			why = "RGB runs from 0 to 255"
		}
		rgb[i] = uint8(math.Round(min(255, max(0, x))))
	}
	return lab.FromSRGB(rgb), why
}

func numeral(s string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}

func (t *measured) nm(field int) float64 {
	m := band.FindStringSubmatch(t.fields[field])
	v, _ := strconv.ParseFloat(m[2], 64)
	return v
}

// bands returns the fields of a spectrum at even steps, from short waves to
// long; nil if there are too few or the steps are uneven.
func (t *measured) bands() (out []int) {
	for i, f := range t.fields {
		if band.MatchString(f) {
			out = append(out, i)
		}
	}
	if len(out) < 16 {
		return nil
	}
	sort.SliceStable(out, func(i, j int) bool { return t.nm(out[i]) < t.nm(out[j]) })
	step := t.nm(out[1]) - t.nm(out[0])
	for i := 1; i < len(out); i++ {
		if step <= 0 || t.nm(out[i])-t.nm(out[i-1]) != step {
			return nil
		}
	}
	return out
}

// percent tells spectra in percent: by the fields' names, else by values that
// no reflectance has as a share.
func (t *measured) percent() bool {
	for _, f := range t.fields {
		if strings.HasPrefix(f, "SPECTRAL_PCT") {
			return true
		}
	}
	for _, b := range t.bands() {
		for _, r := range t.sets {
			if v, ok := numeral(r.cell(b)); ok && v > 3 {
				return true
			}
		}
	}
	return false
}

// lighting is what a file says about illuminant and observer.
type lighting struct {
	white    White
	name     string // of the illuminant, if any is told
	observer string
}

// illuminant matches D50, A, F11 and their like as words.
var illuminant = regexp.MustCompile(`\b(D ?\d\d|A|C|F ?\d{1,2})\b`)

func (t *measured) light() (l lighting) {
	told := t.keys["ILLUMINANT"] + " " + t.keys["ILLUMINATION_NAME"] + " " + t.keys["WEIGHTING_FUNCTION"]
	l.observer = t.keys["OBSERVER"] + " " + t.keys["OBSERVER_ANGLE"]
	if w := t.keys["WEIGHTING_FUNCTION"]; strings.Contains(strings.ToUpper(w), "OBSERVER") {
		l.observer += " " + w[strings.Index(strings.ToUpper(w), "OBSERVER"):]
	}
	if strings.TrimSpace(told) == "" {
		told = t.keys["INSTRUMENTATION"] + " " + t.keys["MEASUREMENT_SOURCE"]
	}
	name := strings.ReplaceAll(illuminant.FindString(strings.ToUpper(told)), " ", "")
	l.name = name
	switch name {
	case "D50":
		l.white = D50
	case "D65":
		l.white = D65
	}
	return l
}
