package palettes

import (
	"bufio"
	"crypto/sha256"
	"fmt"
	"io"
	"strconv"
	"strings"

	"kitwright/internal/wording"
	"kitwright/lab"
)

// Header is the first line of a card, after its remarks.
const Header = "code,name,finish,hex,L,a,b"

// WriteCSV writes the card as [Read] reads it: its source and license as
// remarks, the header code,name,finish,hex,L,a,b, then a line for each color,
// L, a and b to at most 3 decimals. Lines end with a line feed. Text that a
// spreadsheet would run as a formula is written with an apostrophe before it.
func (c *Card) WriteCSV(w io.Writer) error {
	for _, r := range []struct{ title, text string }{{"Source", c.Source}, {"License", c.License}} {
		if r.text == "" {
			continue
		}
		if _, err := fmt.Fprintf(w, "# %s: %s\n", r.title, wording.Printable(r.text)); err != nil {
			return err
		}
	}
	return c.writeColors(w)
}

// writeColors writes the header and the colors.
func (c *Card) writeColors(w io.Writer) error {
	out := bufio.NewWriter(w)
	fmt.Fprintln(out, Header)
	for _, d := range c.Drills {
		fmt.Fprintf(out, "%s,%s,%s,%s,%s,%s,%s\n", quote(d.Code), quote(d.Name), quote(string(d.Finish)),
			lab.Hex(d.RGB), number(d.Lab.L), number(d.Lab.A), number(d.Lab.B))
	}
	return out.Flush()
}

// SHA256 returns the hash in hex of the card's CSV from its header on: two
// cards with the same hash make the same charts.
func (c *Card) SHA256() string {
	h := sha256.New()
	c.writeColors(h) // a hash never fails
	return fmt.Sprintf("%x", h.Sum(nil))
}

// quote puts quotes around a field that needs them (RFC 4180), and around one
// that begins with #, so that its line is not taken for a remark.
func quote(field string) string {
	field = wording.Cell(field)
	if strings.ContainsAny(field, "\",\n\r") || strings.HasPrefix(field, "#") {
		return `"` + strings.ReplaceAll(field, `"`, `""`) + `"`
	}
	return field
}

func number(v float64) string { return strconv.FormatFloat(round3(v), 'f', -1, 64) }
