package setting

import (
	"strconv"
	"strings"

	"kitwright/internal/say"
)

// WholeNumber reads digits and nothing else, up to most.
func WholeNumber(s string, most int) (int, bool) {
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
	n, ok := WholeNumber(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), "%")), 100)
	if !ok {
		return say.Usage("write 0% to 100%, for example 10%", "%q is not a whole percentage", s)
	}
	*p = Percent(n)
	return nil
}

func (p *Percent) Type() string { return "PERCENT" }

// Drills is a number of drills, 0 to a million.
type Drills int

func (c *Drills) String() string { return strconv.Itoa(int(*c)) }

// Set reads a whole number.
func (c *Drills) Set(s string) error {
	n, ok := WholeNumber(strings.TrimSpace(s), 1_000_000)
	if !ok {
		return say.Usage("write a whole number, for example 20", "%q is not a number of drills", s)
	}
	*c = Drills(n)
	return nil
}

func (c *Drills) Type() string { return "N" }
