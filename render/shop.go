package render

import (
	"bytes"
	"cmp"
	"fmt"
	"image"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/render/letters"
	"kitwright/render/pdf"
	"kitwright/render/press"
)

// Shop is what a print shop's machine asks of the canvas and the test print.
// The zero value is PDF/A-1b in tagged sRGB.
type Shop struct {
	Standard Standard
	Profile  ShopProfile
	Convert  bool         // colors in the machine's own numbers
	Intent   press.Intent // how colors are taken over that it cannot print
	InkLimit InkLimit     // of all inks together; 0 = none
	Outlined bool         // letters and symbols are paths: no fonts in the file
}

// Standard is the standard that a file keeps.
type Standard string

const (
	PDFA Standard = "a1b" // PDF/A-1b, ISO 19005-1
	PDFX Standard = "x4"  // PDF/X-4, ISO 15930-7
)

// DefaultShop returns the usual settings.
func DefaultShop() Shop { return Shop{Standard: PDFA, Intent: press.Relative} }

// Bind makes every setting a flag.
func (s *Shop) Bind(b *setting.Binder) {
	b.Group("A print shop's machine")
	b.Add(setting.Of(&s.Standard, PDFA, PDFX), "pdf", "the standard that canvas and test print keep: a1b (PDF/A-1b) or x4 (PDF/X-4, with the shop's profile)")
	b.Add(&s.Profile, "shop-profile", "the ICC profile of the shop's machine and material, RGB or CMYK")
	b.Bool(&s.Convert, "convert", "give colors in the machine's own inks, black symbols in black ink alone; else they stay tagged sRGB")
	b.Add(setting.Of(&s.Intent, press.Relative, press.Perceptual), "intent", "how colors are taken over that the machine cannot print")
	b.Add(&s.InkLimit, "ink-limit", "all inks together at most, as in 280%; 0% for no limit")
	b.Bool(&s.Outlined, "outline-text", "in canvas and test print, fill letters and symbols as shapes, for a machine that stumbles over fonts: the file has none, and nothing in it can be searched")
}

// InkLimit is a share of one full ink, in percent.
type InkLimit int

func (l *InkLimit) String() string { return strconv.Itoa(int(*l)) + "%" }

// Set reads "280%" or "280".
func (l *InkLimit) Set(s string) error {
	n, ok := setting.WholeNumber(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), "%")), 999)
	if !ok {
		return say.Usage("shops name 220% to 320%", "%q is not a whole percentage", s)
	}
	*l = InkLimit(n)
	return nil
}

// Type names the value in help.
func (l *InkLimit) Type() string { return "PERCENT" }

// Limits of what an ink limit may be: below the first, black on a tint cannot
// be held; four full inks are the second.
const (
	leastInk = 150
	mostInk  = 400
)

func (s Shop) check() error {
	switch {
	case s.Standard == PDFX && s.Profile.Name == "":
		return say.Usage("ask the shop for its ICC profile and give it with {shop-profile}", "{pdf} x4 names a printing condition, and no profile says which")
	case s.Profile.Name != "" && s.Standard != PDFX:
		return say.Usage("give {pdf} x4, too", "{shop-profile} is for files of PDF/X-4")
	case s.Profile.Name != "" && s.Profile.press == nil:
		return say.Usage("give it again with {shop-profile}", "the shop's profile %s is not at hand", s.Profile.Name)
	case s.Convert && s.Profile.Name == "":
		return say.Usage("ask the shop for its ICC profile and give it with {shop-profile}", "{convert} needs to know the machine's inks")
	case s.InkLimit != 0 && !s.Convert:
		return say.Usage("give {convert}, too", "{ink-limit} is for colors in inks")
	case s.InkLimit != 0 && s.Profile.press.Inks != 4:
		return say.Usage("leave it out", "{ink-limit} is for machines with four inks, and the profile %s is of RGB", s.Profile.Name)
	case s.InkLimit != 0 && (s.InkLimit < leastInk || s.InkLimit > mostInk):
		return say.Usage("shops name 220% to 320%", "{ink-limit} takes %d%% to %d%%: below it black on a tint cannot be held", leastInk, mostInk)
	}
	return nil
}

// press returns what the documents for the shop are made by, nil for PDF/A.
func (s Shop) press() *pdf.Press {
	if s.Standard != PDFX {
		return nil
	}
	p := &pdf.Press{Name: s.Profile.press.Name, Profile: s.Profile.press.Data, Inks: s.Profile.press.Inks}
	if s.Convert {
		p.Ink = s.ink
	}
	return p
}

// fileWords says what a shop should know of the file.
func (s Shop) fileWords() string {
	fonts := "fonts embedded"
	if s.Outlined {
		fonts = "letters as paths"
	}
	switch {
	case s.Standard != PDFX:
		return "PDF/A-1b, " + fonts + ", colors tagged as sRGB"
	case s.Convert:
		return "PDF/X-4, " + fonts + ", colors in the inks of " + letters.Clean(s.Profile.Name)
	}
	return "PDF/X-4 for " + letters.Clean(s.Profile.Name) + ", " + fonts + ", colors tagged as sRGB"
}

// ink returns the device numbers of a screen color.
func (s Shop) ink(c color, line bool) [4]float64 {
	p := s.Profile.press
	neutral := c[0] == c[1] && c[1] == c[2]
	switch {
	case c == white && s.Intent == press.Relative:
		if p.Inks == 3 {
			return [4]float64{1, 1, 1}
		}
		return [4]float64{}
	case p.Inks == 3:
		if c == black {
			return [4]float64{}
		}
		return p.Device(c, s.Intent)
	case c == black:
		return [4]float64{0, 0, 0, 1}
	case neutral && line:
		return [4]float64{0, 0, 0, p.Gray(c[0])}
	}
	return s.limited(p.Device(c, s.Intent))
}

// limited keeps the inks of an area under the limit, and, where black stands
// on it, those together with the black.
func (s Shop) limited(v [4]float64) [4]float64 {
	if s.InkLimit == 0 {
		return v
	}
	limit := float64(s.InkLimit) / 100
	room := limit - v[3]
	if s.Profile.press.Seen(v).L >= blackFrom {
		room = limit - 1
	}
	if sum := v[0] + v[1] + v[2]; sum > room {
		for i := range 3 {
			v[i] *= room / sum
		}
	}
	return v
}

// blackFrom is from which lightness on black symbols may stand on a color.
const blackFrom = 40

// Ink tells how much ink there is at most, in percent of one: of an area, and
// with the black of a symbol on it.
func (p Print) Ink(k *kit.Kit) (area, under float64) {
	skin := newSkin(k, p)
	for _, e := range k.Chart.Legend {
		fill, ink := skin.cell(e.Drill.RGB)
		v := p.Shop.ink(fill, false)
		sum := 100 * (v[0] + v[1] + v[2])
		area = max(area, sum+100*v[3])
		if ink == black {
			under = max(under, sum+100)
		}
	}
	return area, under
}

// Beyond is a drill whose color on paper the machine cannot print.
type Beyond struct {
	Code     string
	Distance float64 // CIEDE2000
}

// OutOfReach names the drills whose colors, as the canvas shows them, come out
// more than so far from what they should be.
func (p Print) OutOfReach(k *kit.Kit, more float64) (all []Beyond) {
	if p.Shop.Profile.press == nil {
		return nil
	}
	skin := newSkin(k, p)
	for _, e := range k.Chart.Legend {
		fill, _ := skin.cell(e.Drill.RGB)
		seen := p.Shop.Profile.press.Seen(p.Shop.ink(fill, false))
		if d := lab.DeltaE(lab.FromSRGB(fill), seen); d > more {
			all = append(all, Beyond{e.Drill.Address(), d})
		}
	}
	return all
}

// Proof returns a picture of the canvas as the shop's machine will show it, on
// its own white.
func Proof(k *kit.Kit, p Print) (*image.NRGBA, error) {
	if err := p.checkFor(k); err != nil {
		return nil, err
	}
	c := newCanvas(k, p)
	d := documentOf(k, p, "canvas", c.subject(), c.skin.Box)
	d.Pages = []*pdf.Page{c.page()}
	const long = 2400
	m := d.Paint(0, long)
	known := map[color]color{}
	for i := 0; i+3 < len(m.Pix); i += 4 {
		was := color(m.Pix[i : i+3])
		is, ok := known[was]
		if !ok {
			is = p.Shop.Profile.press.Screen(p.Shop.ink(was, false))
			known[was] = is
		}
		copy(m.Pix[i:i+3], is[:])
	}
	return m, nil
}

// ShopProfile is the value of a flag: a profile's file. Its text is the file's
// name alone; Load reads it.
type ShopProfile struct {
	Name  string // of the file
	path  string
	press *press.Profile
}

func (s *ShopProfile) String() string { return s.Name }

// Set takes a path. What was loaded under the same name stays.
func (s *ShopProfile) Set(path string) error {
	if path == "" {
		*s = ShopProfile{}
		return nil
	}
	name := filepath.Base(path)
	if s.press == nil || s.Name != name || path != name {
		*s = ShopProfile{Name: name, path: path}
	}
	return nil
}

// Type names the value in help.
func (s *ShopProfile) Type() string { return "FILE.icc" }

// Wants returns the file that has to be read, "" for none.
func (s *ShopProfile) Wants() string {
	if s.press != nil {
		return ""
	}
	return s.path
}

// Load takes the file's content.
func (s *ShopProfile) Load(data []byte) (err error) {
	s.press, err = press.Read(s.Name, bytes.Clone(data))
	return err
}

// shopAdvice tells what the shop's machine makes of the colors.
func (p Print) shopAdvice(k *kit.Kit) (out []say.Text) {
	if k == nil || k.Chart == nil || p.Shop.Profile.press == nil {
		return nil
	}
	if p.Shop.Convert && p.Shop.Profile.press.Inks == 4 {
		area, under := p.Ink(k)
		out = append(out, say.Textf("At most %.0f percent of ink in a cell, %.0f where black stands on it.", area, under))
	}
	const far = 3
	if beyond := p.OutOfReach(k, far); len(beyond) > 0 {
		slices.SortStableFunc(beyond, func(a, b Beyond) int { return cmp.Compare(b.Distance, a.Distance) })
		var named []string
		for _, x := range beyond[:min(5, len(beyond))] {
			named = append(named, fmt.Sprintf("%s by %.1f", x.Code, x.Distance))
		}
		more := ""
		if len(beyond) > len(named) {
			more = fmt.Sprintf(" and %d more", len(beyond)-len(named))
		}
		out = append(out, say.Textf("%s on the canvas cannot be printed as they should be (CIEDE2000 over %d): %s%s.", say.Count(len(beyond), "color"), far, strings.Join(named, ", "), more))
	}
	return out
}
