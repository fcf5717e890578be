package render

import (
	"strings"
	"time"

	"kitwright/internal/say"
)

// Date is a day, as in 2026-11-26; the empty text is none.
type Date string

func (d *Date) String() string { return string(*d) }

// Set reads a date.
func (d *Date) Set(s string) error {
	s = strings.TrimSpace(s)
	if s != "" {
		if t, err := time.Parse(time.DateOnly, s); err != nil || t.Year() < 1970 {
			return say.Usage("write year, month and day, as in 2026-11-26", "%q is not a date", s)
		}
	}
	*d = Date(s)
	return nil
}

func (d *Date) Type() string { return "DATE" }
