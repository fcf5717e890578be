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
