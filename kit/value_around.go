package kit

import (
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/wording"
)

// Background is how what is not the subject is treated. The zero value is
// soft: it counts a quarter of the subject where a subject is known.
type Background struct {
	Colors int    // 1, 2 or 4: as many calm colors of its own
	Plain  string // a code: all of it in this color
}

func (b *Background) String() string {
	switch {
	case b.Plain != "":
		return "plain=" + b.Plain
	case b.Colors > 0:
		return strconv.Itoa(b.Colors)
	}
	return "soft"
}

// Set reads "soft", "4", "2", "1" or "plain=CODE".
func (b *Background) Set(s string) error {
	code, plain := strings.CutPrefix(s, "plain=")
	if err := checkWords(wording.Code, code); plain && err != nil {
		return err
	}
	switch {
	case plain && strings.TrimSpace(code) != "":
		*b = Background{Plain: strings.TrimSpace(code)}
	case s == "" || s == "soft":
		*b = Background{}
	case s == "1" || s == "2" || s == "4":
		*b = Background{Colors: int(s[0] - '0')}
	default:
		return say.Usage("", "it takes soft, 4, 2, 1 or plain=CODE, not %q", s)
	}
	return nil
}

// Type names the value in help.
func (b *Background) Type() string { return "soft|4|2|1|plain=CODE" }

// needsSubject says whether there has to be a subject to tell it from.
func (b Background) needsSubject() bool { return b != (Background{}) }

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

// about is the value of --subject: a box, or none.
type about struct {
	box  *Box
	none *bool
}

func (a about) String() string {
	switch {
	case a.box == nil:
		return ""
	case *a.none:
		return "none"
	}
	return a.box.String()
}

func (a about) Set(s string) error {
	if s == "none" {
		*a.box, *a.none = Box{}, true
		return nil
	}
	if err := a.box.Set(s); err != nil {
		return err
	}
	*a.none = false
	return nil
}

func (a about) Type() string { return "X,Y,W,H|none" }
