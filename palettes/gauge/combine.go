package gauge

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"kitwright/internal/wording"
	"kitwright/lab"
	"kitwright/palettes"
)

// Card is what several pictures say together.
type Card struct {
	Card     *palettes.Card
	Reads    []Read // of each drill of the card
	Warnings []string
	Expect   string // the error to expect, in words

	Pictures int
	Apart    float64 // how far pictures of one code lie apart: mean, and of one in twenty
	ApartP95 float64
}

// Combine makes a card of one reading or several. A code that several
// pictures show gets the mean of their colors, and how far they disagree
// lowers its certainty. Codes stand in the order in which they are first seen.
func Combine(name string, readings []*Reading) *Card {
	out := &Card{Card: &palettes.Card{Name: name}, Pictures: len(readings)}
	at := map[string]int{}
	var groups [][]Read
	said := map[string]bool{}
	for _, r := range readings {
		for _, w := range r.Warnings {
			if !said[w] {
				said[w] = true
				out.Warnings = append(out.Warnings, w)
			}
		}
		for _, read := range r.Reads {
			key := strings.ToLower(palettes.Drill{Code: read.Code, Finish: read.Finish}.Address())
			i, has := at[key]
			if !has {
				i = len(groups)
				at[key] = i
				groups = append(groups, nil)
			}
			groups[i] = append(groups[i], read)
		}
	}
	var apart []float64
	for _, g := range groups {
		read, disagree := together(g)
		if len(g) > 1 {
			apart = append(apart, disagree)
		}
		d := palettes.NewDrill(read.Code, read.Code, read.Lab)
		d.Finish = read.Finish
		out.Card.Drills = append(out.Card.Drills, d)
		out.Reads = append(out.Reads, read)
	}
	out.Apart, out.ApartP95 = mean(apart), quantile(apart, 0.95)
	if out.Apart > 2 {
		out.Warnings = append(out.Warnings, fmt.Sprintf("the pictures disagree by %.1f on average: different light, HDR, or one of them is off; trust none of them alone", out.Apart))
	}
	out.Expect = expectation(readings)
	out.Card.Source = fmt.Sprintf("measured with kitwright from %s; %s", plural(len(readings), "picture"), out.Expect)
	return out
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// disagree lowers the certainty of a code that pictures show differently.
const (
	disagreeFair = 2.0
	disagreePoor = 4.0
)

// together averages what pictures say of a code, in Lab, those with a clipped
// channel left out where others have none.
func together(g []Read) (read Read, apart float64) {
	used := g
	var clean []Read
	for _, r := range g {
		if !r.clipped {
			clean = append(clean, r)
		}
	}
	if len(clean) > 0 {
		used = clean
	}
	read = used[0]
	var c lab.Color
	for i, r := range used {
		c.L, c.A, c.B = c.L+r.Lab.L/float64(len(used)), c.A+r.Lab.A/float64(len(used)), c.B+r.Lab.B/float64(len(used))
		for _, q := range used[:i] {
			apart = max(apart, far(r, q))
		}
		if r.Certainty == Good && read.Certainty != Good || r.Certainty == Fair && read.Certainty == Poor {
			read.Certainty, read.Why = r.Certainty, r.Why
		}
	}
	read.Lab = lab.Color{L: round2(c.L), A: round2(c.A), B: round2(c.B)}
	if apart > disagreeFair {
		to := Fair
		if apart > disagreePoor {
			to = Poor
		}
		if read.Certainty == Good || to == Poor {
			read.Certainty = to
		}
		if read.Why != "" {
			read.Why += "; "
		}
		read.Why += fmt.Sprintf("pictures disagree by %.1f", apart)
	}
	return read, apart
}

// expectation says in words how far colors may be off. Without a target the
// figures are those of simulated photos.
func expectation(readings []*Reading) string {
	var worst *Reading
	for _, r := range readings {
		if r.Model == "" {
			return "no target was in the picture: expect 1.5 to 2.5 off in daylight or scanned, 5 to 8 under LED light"
		}
		if worst == nil || r.Mean > worst.Mean {
			worst = r
		}
	}
	return fmt.Sprintf("expect %.1f off on average and %.1f for one in twenty (patches of the target left out), gloss, HDR and light that differs between target and card not counted", worst.Mean, worst.P95)
}

// Count returns how many colors have a certainty.
func (c *Card) Count(of Certainty) (n int) {
	for _, r := range c.Reads {
		if r.Certainty == of {
			n++
		}
	}
	return n
}

// WriteCSV writes the card as [palettes.Card.WriteCSV] does, with two more
// columns: the certainty of each code, and why it is not good.
func (c *Card) WriteCSV(w io.Writer) error {
	buf := bufio.NewWriter(w)
	fmt.Fprintf(buf, "# Source: %s\n", wording.Printable(c.Card.Source))
	out := csv.NewWriter(buf)
	out.Write(append(strings.Split(palettes.Header, ","), "certainty", "why"))
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	for i, d := range c.Card.Drills {
		out.Write([]string{wording.Cell(d.Code), wording.Cell(d.Name), wording.Cell(string(d.Finish)), lab.Hex(d.RGB),
			number(d.Lab.L), number(d.Lab.A), number(d.Lab.B), string(c.Reads[i].Certainty), c.Reads[i].Why})
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return err
	}
	return buf.Flush()
}
