package kit

import (
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/internal/wording"
)

// Focus is a part of the photo where a difference counts more: an ellipse
// inside a box of the upright photo, in percent.
type Focus struct {
	Box
	Weight float64 // how many times more, 1 to 20
}

// FocusWeight is the weight of a focus that names none.
const FocusWeight = 3

func (f Focus) String() string {
	s := f.Box.String()
	if f.Weight != FocusWeight {
		s += "," + formatNumber(f.Weight)
	}
	return s
}

// repeated is a pflag.Value for a flag that may be given more than once: the
// first time it replaces the default, afterwards it adds. All items at once
// are written with a separator between them.
type repeated[T any] struct {
	to    *[]T
	sep   string
	kind  string
	write func(T) string
	read  func(string) (T, error)
	given bool
}

func (r *repeated[T]) String() string {
	if r.to == nil {
		return ""
	}
	parts := make([]string, len(*r.to))
	for i, v := range *r.to {
		parts[i] = r.write(v)
	}
	return strings.Join(parts, r.sep)
}

func (r *repeated[T]) Set(s string) error {
	var items []T
	for _, part := range setting.Split(s, r.sep) {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		v, err := r.read(part)
		if err != nil {
			return err
		}
		items = append(items, v)
	}
	if r.given {
		items = append(*r.to, items...)
	}
	*r.to, r.given = items, true
	return nil
}

func (r *repeated[T]) Type() string { return r.kind }

// focuses is the value of --focus; several at once stand between semicolons.
func focuses(to *[]Focus) *repeated[Focus] {
	return &repeated[Focus]{to: to, sep: ";", kind: "BOX[,WEIGHT]", write: Focus.String, read: readFocus}
}

// boxes is the value of a flag that names parts of the photo; several at once
// stand between semicolons.
func boxes(to *[]Box) *repeated[Box] {
	return &repeated[Box]{to: to, sep: ";", kind: "BOX", write: func(b Box) string { return b.String() }, read: func(s string) (b Box, err error) {
		return b, b.Set(s)
	}}
}

func readFocus(s string) (Focus, error) {
	if where, weight, weighted := strings.Cut(s, ","); !weighted || strings.Count(weight, ",") == 0 {
		if box, ok := gridBox(where); ok {
			s = box.String()
			if weighted {
				s += "," + weight
			}
		}
	}
	v, ok := numbers(s)
	if !ok || len(v) < 4 || len(v) > 5 {
		return Focus{}, say.Usage("", "%q is not left, top, width and height in percent, such as 40,25,12,10, nor two cells of the grid that kitwright look draws, such as C4-P19, and a weight behind it if you like", s)
	}
	f := Focus{Box{v[0], v[1], v[2], v[3]}, FocusWeight}
	if len(v) == 5 {
		f.Weight = v[4]
	}
	if f.Weight < 1 || f.Weight > 20 {
		return Focus{}, say.Usage("", "its weight takes 1 to 20, not %s", formatNumber(f.Weight))
	}
	return f, f.check()
}

// codes is the value of a flag that names colors by their codes. A code that
// holds a comma stands in quotes.
func codes(to *[]string) *repeated[string] {
	return &repeated[string]{to: to, sep: ",", kind: "CODE,...", write: setting.Quote, read: readCode}
}

// readCode reads a code, with its finish behind it where there are several.
func readCode(text string) (string, error) {
	code, err := setting.Unquote(text)
	if err == nil && strings.TrimSpace(code) == "" {
		err = say.Usage("kitwright card show lists the codes of a card", "a code of blanks is none")
	}
	if err == nil {
		err = checkWords(wording.Color, code)
	}
	return code, err
}

// share is a pflag.Value for a number from 0 to 1.
type share struct{ to *float64 }

func (s share) String() string {
	if s.to == nil {
		return ""
	}
	return formatNumber(*s.to)
}

func (s share) Set(text string) error {
	v, ok := number(text)
	if !ok || v < 0 || v > 1 {
		return say.Usage("", "it takes a number from 0 to 1, not %q", text)
	}
	*s.to = v
	return nil
}

func (s share) Type() string { return "0..1" }
