package kit

import (
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/wording"
)

// Border is a frame of whole drills around photo and caption. The zero value
// is none.
type Border struct {
	Drills int    // on each side
	Code   string // its color; "" = the caption's ground, or one that suits the photo
}

func (b *Border) String() string {
	s := strconv.Itoa(b.Drills)
	if b.Code != "" {
		s += "," + b.Code
	}
	return s
}

// Set reads "3" or "3,CODE".
func (b *Border) Set(s string) error {
	if s == "" {
		*b = Border{}
		return nil
	}
	drills, code, _ := strings.Cut(s, ",")
	n, err := strconv.Atoi(strings.TrimSpace(drills))
	if err != nil || n < 0 || n > 1000 {
		return say.Usage("", "it takes a number of drills, and a code if you like, such as 3 or 3,N 2, not %q", s)
	}
	if err := checkWords(wording.Code, code); err != nil {
		return err
	}
	*b = Border{Drills: n, Code: strings.TrimSpace(code)}
	return nil
}

// Type names the value in help.
func (b *Border) Type() string { return "N[,CODE]" }
