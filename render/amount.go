package render

import (
	"strconv"
	"strings"
	"time"

	"kitwright/internal/say"
)

// wholeNumber reads digits and nothing else, up to most.
func wholeNumber(s string, most int) (int, bool) {
	if s == "" || strings.Trim(s, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.Atoi(s)
	return n, err == nil && n <= most
}

// Percent is a share in whole percent, 0 to 100.
type Percent int

func (p *Percent) String() string { return strconv.Itoa(int(*p)) + "%" }

// Set reads "10%" or "10".
func (p *Percent) Set(s string) error {
	n, ok := wholeNumber(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), "%")), 100)
	if !ok {
		return say.Usage("write 0% to 100%, for example 10%", "%q is not a whole percentage", s)
	}
	*p = Percent(n)
	return nil
}

func (p *Percent) Type() string { return "percent" }

// Count is a number of drills, 0 to a million.
type Count int

func (c *Count) String() string { return strconv.Itoa(int(*c)) }

func (c *Count) Set(s string) error {
	n, ok := wholeNumber(strings.TrimSpace(s), 1_000_000)
	if !ok {
		return say.Usage("write a whole number, for example 20", "%q is not a number of drills", s)
	}
	*c = Count(n)
	return nil
}

func (c *Count) Type() string { return "drills" }

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

func (d *Date) Type() string { return "date" }
