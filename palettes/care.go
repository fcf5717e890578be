package palettes

import (
	"fmt"
	"slices"
	"strings"

	"kitwright/internal/say"
	"kitwright/lab"
)

// How far two colors lie apart when a crafter calls them alike, CIEDE2000.
// Same: 50:50 perceptibility of 1.01 (40 observers, teeth on a display).
// Similar: acceptability of 2.25 to 2.66 (same study; R. Ghinea et al. 2010,
// ceramics). No figures on drills were found.
const (
	Same    = 1.0
	Similar = 2.5
)

// Pair is two drills of a card and how far they lie apart.
type Pair struct {
	A, B int // indices, A before B
	Far  float64
}

// Alike returns all pairs nearer than a difference, nearest first.
func (c *Card) Alike(below float64) (pairs []Pair) {
	points := make([]lab.Point, len(c.Drills))
	for i, d := range c.Drills {
		points[i] = lab.PointOf(d.Lab)
	}
	for i := range points {
		for j := i + 1; j < len(points); j++ {
			// Lightness alone: CIEDE2000's S_L is below 1.75.
			if dl := points[i].L - points[j].L; dl > below*1.8 || dl < -below*1.8 {
				continue
			}
			if e := points[i].DeltaE(points[j]); e < below {
				pairs = append(pairs, Pair{i, j, e})
			}
		}
	}
	slices.SortStableFunc(pairs, func(p, q Pair) int { return compare(p.Far, q.Far) })
	return pairs
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// Hole is a color that the card serves badly.
type Hole struct {
	RGB     [3]uint8 // the color
	Name    string   // what it is usually called
	Nearest int      // index of the nearest drill
	Far     float64
}

// Holes returns the colors that the card serves worst: of the 267 centroids
// that have a common name (ISCC-NBS), those that sRGB can show and that lie
// farthest from every drill, farthest first.
func (c *Card) Holes(most int) (holes []Hole) {
	names, err := Named("nbs")
	if err != nil || len(c.Drills) == 0 {
		return nil
	}
	for _, n := range names.Drills {
		if n.Beyond {
			continue
		}
		j, far := c.Nearest(n.Lab)
		holes = append(holes, Hole{RGB: n.RGB, Name: n.Name, Nearest: j, Far: far})
	}
	slices.SortStableFunc(holes, func(a, b Hole) int { return compare(b.Far, a.Far) })
	return holes[:min(most, len(holes))]
}

// Nearest returns the drill nearest to a color, the first of equals, and how
// far it lies; -1 for a card without drills.
func (c *Card) Nearest(to lab.Color) (at int, far float64) {
	at = -1
	for i, d := range c.Drills {
		if e := lab.DeltaE(to, d.Lab); at < 0 || e < far {
			at, far = i, e
		}
	}
	return at, far
}

// Matched is a drill of one card and the one of another that comes nearest.
type Matched struct {
	From, To int // indices; To is -1 where nothing is left
	Far      float64
}

// Match returns for each drill of a the nearest one of b. One to one, no drill
// of b is given twice: the pairs are taken nearest first, so that a close
// match is never given up for a far one.
func Match(a, b *Card, oneToOne bool) []Matched {
	out := make([]Matched, len(a.Drills))
	for i, d := range a.Drills {
		out[i] = Matched{From: i, To: -1}
		if !oneToOne {
			out[i].To, out[i].Far = b.Nearest(d.Lab)
		}
	}
	if !oneToOne {
		return out
	}
	pairs := make([]Matched, 0, len(a.Drills)*len(b.Drills))
	for i, d := range a.Drills {
		for j, e := range b.Drills {
			pairs = append(pairs, Matched{i, j, lab.DeltaE(d.Lab, e.Lab)})
		}
	}
	slices.SortStableFunc(pairs, func(p, q Matched) int { return compare(p.Far, q.Far) })
	taken := make([]bool, len(b.Drills))
	for _, p := range pairs {
		if out[p.From].To < 0 && !taken[p.To] {
			out[p.From], taken[p.To] = p, true
		}
	}
	return out
}

// MaxPairs is how many pairs of drills Match one to one may weigh.
const MaxPairs = 4_000_000

// Merge returns a card with the drills of all, in order. A drill that stands
// on several is taken from the first; those whose color differs there are
// named.
func Merge(name string, cards ...*Card) (*Card, []string, error) {
	out := &Card{Name: name}
	at := map[string]int{}
	var differ []string
	var sources []string
	for _, c := range cards {
		if c.Source != "" && !slices.Contains(sources, c.Source) {
			sources = append(sources, c.Source)
		}
		for _, d := range c.Drills {
			if i, has := at[fold(d.Address())]; has {
				if e := lab.DeltaE(out.Drills[i].Lab, d.Lab); e >= Same {
					differ = append(differ, fmt.Sprintf("%s is %s on an earlier card and %s on %s (%.1f apart); the earlier was kept", d.Address(), lab.Hex(out.Drills[i].RGB), lab.Hex(d.RGB), c.Name, e))
				}
				continue
			}
			at[fold(d.Address())] = len(out.Drills)
			out.Drills = append(out.Drills, d)
		}
	}
	if len(out.Drills) > MaxDrills {
		return nil, nil, say.Failed("merge fewer", "together they hold %d colors, and a card takes up to %d", len(out.Drills), MaxDrills)
	}
	out.Source = clipRunes(strings.Join(sources, "; "), maxRemark)
	return out, differ, nil
}

// Subset returns a card with only the drills named, in the order of the card,
// and the addresses that it does not have. A bare code that several drills
// have takes them all.
func (c *Card) Subset(addresses []string) (*Card, []string) {
	in := make([]bool, len(c.Drills))
	var unknown []string
	for _, a := range addresses {
		if i, ok := c.Index(a); ok {
			in[i] = true
			continue
		}
		all := c.Finishes(a)
		for _, b := range all {
			if i, ok := c.Index(b); ok {
				in[i] = true
			}
		}
		if len(all) == 0 {
			unknown = append(unknown, a)
		}
	}
	out := &Card{Name: c.Name, Source: c.Source, License: c.License}
	for i, d := range c.Drills {
		if in[i] {
			out.Drills = append(out.Drills, d)
		}
	}
	return out, unknown
}

func clipRunes(s string, most int) string {
	r := []rune(s)
	return strings.TrimSpace(string(r[:min(len(r), most)]))
}
