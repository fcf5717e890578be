package kit

import (
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/plan"
)

// Lot is how many drills of a color are owned: its code, with a finish behind
// it where it has one, in the order's shape and size.
type Lot struct {
	Address string
	Drills  int
}

// Spare says how many drills of a color lie ready beyond those on the canvas:
// so many percent, at least and at most so many. (Common practice, no source.)
type Spare struct{ Percent, Least, Most int }

// Limits of what can be owned and bought.
const (
	maxOwned = 10_000_000 // drills of a color
	maxBuy   = MaxColors
	maxBags  = 10_000
)

// stock is the value of the drills that are owned.
func stock(to *[]Lot) *repeated[Lot] {
	return &repeated[Lot]{to: to, sep: ",", kind: "CODE=DRILLS,...", write: Lot.String, read: readLot}
}

// String writes a lot as it is read; what is beyond any picture counts as much.
func (l Lot) String() string {
	return setting.Quote(l.Address) + "=" + strconv.Itoa(min(l.Drills, maxOwned))
}

func readLot(s string) (Lot, error) {
	at := strings.LastIndexByte(s, '=')
	if at < 0 {
		return Lot{}, say.Usage("", "%q is not a code and how many drills you own of it, such as SR-041=340", s)
	}
	address, err := readCode(strings.TrimSpace(s[:at]))
	if err != nil {
		return Lot{}, err
	}
	n, err := strconv.Atoi(strings.TrimSpace(s[at+1:]))
	if err != nil || n < 0 || n > maxOwned || address == "" {
		return Lot{}, say.Usage("", "%q is not a code and a whole number of drills from 0 to %s, such as SR-041=340", s, say.Number(maxOwned))
	}
	return Lot{address, n}, nil
}

// spare is the value of drills that lie ready beyond those on the canvas.
type spare struct{ to *Spare }

func (s spare) String() string {
	if s.to == nil {
		return ""
	}
	return strconv.Itoa(s.to.Percent) + "%," + strconv.Itoa(s.to.Least) + "," + strconv.Itoa(s.to.Most)
}

func (s spare) Set(text string) error {
	parts := strings.Split(text, ",")
	var v [3]int
	if len(parts) != len(v) {
		return say.Usage("", "%q is not a share, the least and the most, such as 10%%,20,300", text)
	}
	for i, part := range parts {
		part = strings.TrimSpace(part)
		if i == 0 {
			part = strings.TrimSuffix(part, "%")
		}
		n, err := strconv.Atoi(part)
		if err != nil || n < 0 || n > maxOwned || i == 0 && n > 100 {
			return say.Usage("", "%q is not a share up to 100%%, the least and the most, such as 10%%,20,300", text)
		}
		v[i] = n
	}
	if v[1] > v[2] {
		return say.Usage("", "the least, %d, is above the most, %d", v[1], v[2])
	}
	*s.to = Spare{v[0], v[1], v[2]}
	return nil
}

func (s spare) Type() string { return "PERCENT,LEAST,MOST" }

// whole is a pflag.Value for a whole number within limits.
type whole struct {
	to          *int
	least, most int
}

func (w whole) String() string {
	if w.to == nil {
		return ""
	}
	return strconv.Itoa(*w.to)
}

func (w whole) Set(text string) error {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < w.least || n > w.most {
		return say.Usage("", "it takes a whole number from %d to %s, not %q", w.least, say.Number(w.most), text)
	}
	*w.to = n
	return nil
}

func (w whole) Type() string { return "N" }

// need is how many drills of a color to have for n on the canvas.
func (s Spare) need(n int) int {
	if n == 0 {
		return 0
	}
	all, _ := plan.Supply{Extra: setting.Percent(s.Percent), ExtraLeast: setting.Drills(s.Least), ExtraMost: setting.Drills(s.Most)}.WithExtra(n)
	return all
}

// Room is how many drills of a color may lie on the canvas where so many are
// owned.
func (s Spare) Room(owned int) int {
	lo, hi := 0, max(0, owned) // lo suffices
	for lo < hi {
		if mid := (lo + hi + 1) / 2; s.need(mid) <= owned {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return lo
}
