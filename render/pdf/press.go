package pdf

import (
	"bytes"
	"math"
	"regexp"
	"strconv"
)

// Press makes a document PDF/X-4 (ISO 15930-7) for one printing condition: its
// profile is the output intent. Without Ink the colors stay tagged sRGB, which
// the shop's machine takes over; with it they are the machine's own.
type Press struct {
	Name    string // what the profile calls itself
	Profile []byte
	Inks    int                                 // channels of the profile: 3 or 4
	Ink     func(c Color, line bool) [4]float64 // device numbers of a color; line: of a stroke or a text
}

// The states that black text and lines, and all else, are painted in. Black on
// a tint prints over it, so that no paper shows where two inks do not meet.
const (
	overState  = "/GSover gs "
	knockState = "/GSknock gs "
)

const pressStates = "/ExtGState <</GSover <</Type/ExtGState/OP true/op true/OPM 1>>/GSknock <</Type/ExtGState/OP false/op false/OPM 0>>>>\n"

// set returns the operators that choose a color.
func (p *Press) set(c Color, stroke, line bool) string {
	v := p.Ink(c, line)
	n, op := 4, "k"
	if p.Inks == 3 {
		n, op = 3, "rg"
	}
	if stroke {
		op = map[string]string{"k": "K", "rg": "RG"}[op]
	}
	var b []byte
	if n == 4 {
		b = append(b, knockState...)
		if v[0] == 0 && v[1] == 0 && v[2] == 0 && v[3] == 1 {
			b = append(b[:0], overState...)
		}
	}
	for _, x := range v[:n] {
		b = append(appendReal(b, x, 4), ' ')
	}
	return string(append(b, op...))
}

// colorOps are the operators by which gofpdf chooses a color.
var colorOps = regexp.MustCompile(`(\d\.\d{3}) (?:(\d\.\d{3}) (\d\.\d{3}) (rg|RG)|(g|G))\b( BT|` + textMark + `)?`)

// inked returns the content of a page in the machine's colors.
func (p *Press) inked(content []byte) []byte {
	return colorOps.ReplaceAllFunc(content, func(op []byte) []byte {
		m := colorOps.FindSubmatch(op)
		level := func(b []byte) uint8 {
			v, _ := strconv.ParseFloat(string(b), 64) // digits, by the expression
			return uint8(math.Round(v * 255))
		}
		c, word := Color{level(m[1]), level(m[2]), level(m[3])}, m[4]
		if len(word) == 0 {
			c, word = Color{c[0], c[0], c[0]}, m[5]
		}
		stroke := bytes.Equal(bytes.ToUpper(word), word)
		return append([]byte(p.set(c, stroke, stroke || len(m[6]) > 0)), m[6]...)
	})
}

// level returns the operators that choose a gray, written as the page does it.
func (o *opWriter) level(gray string, stroke bool) string {
	if o.press == nil {
		if stroke {
			return gray + " G "
		}
		return gray + " g"
	}
	v, _ := strconv.ParseFloat(gray, 64) // a number of ours
	n := uint8(math.Round(v * 255))
	s := o.press.set(Color{n, n, n}, stroke, true)
	if stroke {
		s += " "
	}
	return s
}

// fillOps returns the operators that select each color, three decimals: a
// third of what an 8-bit channel can tell apart.
func (o *opWriter) fillOps(fill []Color) []string {
	ops := make([]string, len(fill))
	for i, c := range fill {
		if o.press != nil {
			ops[i] = o.press.set(c, false, false) + "\n"
		} else {
			ops[i] = string(append(appendColor(nil, c), "rg\n"...))
		}
	}
	return ops
}
