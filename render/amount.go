package render

import (
	"strconv"
	"strings"

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
