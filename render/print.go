package render

import (
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/plan"
)

// Print is everything that changes paper and nothing that changes a drill, as
// plain values. The flags of the command, the form of the page and the "print"
// of kit.json are its faces; each setting is named and explained in Bind.
type Print struct {
	Look  CellLook
	Large bool
	Units Units
	Font  FontFile // for letters of the title that our type lacks

	Legend    LegendPlace
	Margin    measure.Length // around the picture on the canvas, beyond the wrap
	Wrap      measure.Length
	WrapFill  WrapFill
	FrameLip  measure.Length
	Bleed     measure.Length
	FilmWidth measure.Auto // as wide as it must be unless given

	MediaWidth   measure.Auto   // of the shop's roll; one sheet unless given
	PanelOverlap measure.Length // of panels, where the sheet is wider; 0: they butt

	Paper       Paper
	PaperMargin measure.Length
	Sheets      SheetKind
	SheetCell   measure.Auto // side of a cell on pages to read; chosen unless given

	LabelFor   LabelFor
	LabelSheet LabelSheet
	LabelRound measure.Auto // diameter of a lid; rectangles unless given

	plan.Supply              // how drills are counted out and bought
	Plan        plan.Options // of the work; its pitch is the kit's

	Measured        Bars
	MeasuredPicture Picture
	MeasuredRow     RowLength

	NameFiles bool // title, size and mark before the names of what is printed

	Shop Shop // what a print shop's machine asks

	Date Date // printed on every page; none unless given
}

// The choices of a Print.
type (
	CellLook    string // how a cell looks on paper
	Units       string // which units sizes are told in
	LegendPlace string // where on the canvas the legend stands
	WrapFill    string // what the wrap shows
	SheetKind   string // what the sheets for your own printer are for
	LabelFor    string // what the labels are stuck on
)

const (
	LookAuto  CellLook = "auto"  // tint
	LookTint  CellLook = "tint"  // black symbols on a tint; around the discs of round drills the full color
	LookColor CellLook = "color" // the drill's color, symbols in black or white
	LookInk   CellLook = "ink"   // black symbols on bare paper

	Centimeters Units = "cm"
	Inches      Units = "in"

	LegendBeside LegendPlace = "beside"
	LegendBelow  LegendPlace = "below"
	LegendBoth   LegendPlace = "both"
	LegendOff    LegendPlace = "off"

	WrapEdge   WrapFill = "edge"   // the outermost drills' colors drawn out
	WrapMirror WrapFill = "mirror" // the picture mirrored at its edge
	WrapPlain  WrapFill = "plain"  // one color: the commonest along the edge

	SheetsRead  SheetKind = "read"
	SheetsBuild SheetKind = "build"

	ForContainer LabelFor = "container"
	ForBag       LabelFor = "bag"
)

// DefaultPrint returns the usual settings, on A4 paper and in centimeters.
func DefaultPrint() Print {
	return Print{
		Look: LookAuto, Units: Centimeters,
		Legend: LegendBeside, Margin: 30 * measure.Millimeter, WrapFill: WrapMirror,
		Bleed: 3 * measure.Millimeter, PanelOverlap: 10 * measure.Millimeter,
		Paper: paperNamed("a4"), PaperMargin: 10 * measure.Millimeter, Sheets: SheetsRead,
		LabelFor: ForContainer, Supply: plan.DefaultSupply(),
		Plan: plan.DefaultOptions(), Shop: DefaultShop(),
	}
}

// Buying returns the drill list of a kit that is printed this way.
func (p Print) Buying(k *kit.Kit) *plan.Buying { return plan.List(k.Chart, p.Supply, k.Owned()) }

// Own makes an order that charts from what is owned leave beyond the canvas
// what the drill list adds to each count, unless it says itself what stays.
func (p Print) Own(o *kit.Order) error {
	if p.Copies > 1 {
		return say.Usage("leave out one of them", "{own} counts drills for one picture, and {copies} asks for %d", int(p.Copies))
	}
	if o.Spare == kit.DefaultOrder().Spare {
		o.Spare = kit.Spare{Percent: int(p.Extra), Least: int(p.ExtraLeast), Most: int(p.ExtraMost)}
	}
	return nil
}

// In returns the settings with the paper of a locale such as "en_US.UTF-8":
// Letter in the United States and Canada, A4 elsewhere. A locale chooses
// nothing else, so that the canvas, the chart and the lists are the same
// wherever they are made.
func (p Print) In(locale string) Print {
	region, _, _ := strings.Cut(locale, ".")
	region, _, _ = strings.Cut(region, "@")
	_, country, _ := strings.Cut(strings.ReplaceAll(region, "-", "_"), "_")
	p.Paper = paperNamed("a4")
	if c := strings.ToUpper(country); c == "US" || c == "CA" {
		p.Paper = paperNamed("letter")
	}
	return p
}

// Bind makes every setting a flag of fs, with its present value as the
// default.
func (p *Print) Bind(fs *pflag.FlagSet) {
	b := setting.Bind(fs)
	b.Group("On paper")
	b.Add(setting.Of(&p.Look, LookAuto, LookTint, LookColor, LookInk), "look", "tint, and auto: black symbols on a light tint, which read best; color: on the full color, mid tones a little lighter or darker; ink: on bare paper. What shows between round drills is the full color")
	b.Bool(&p.Large, "large", "larger symbols on lighter tints, for dim light and tired eyes")
	b.Add(setting.Of(&p.Units, Centimeters, Inches), "units", "tell sizes in cm or in")
	b.Add(&p.Font, "font", "a TrueType or OpenType font for letters of the title that ours lack, such as Japanese or Hebrew; what needs letters joined or stacked, such as Arabic, stays out and is named")
	b.Group("The canvas")
	b.Add(setting.Of(&p.Legend, LegendBeside, LegendBelow, LegendBoth, LegendOff), "legend", "where the legend stands: beside the picture, below it, both or off")
	b.Add(&p.Margin, "margin", "free space around the picture, 30mm or more")
	b.Add(&p.Wrap, "wrap", "an edge to stretch over bars, as in 40mm; 0 for none")
	b.Add(setting.Of(&p.WrapFill, WrapMirror, WrapEdge, WrapPlain), "wrap-fill", "what the wrap shows: the picture mirrored, its edge drawn out, or one plain color")
	b.Add(&p.FrameLip, "frame-lip", "shade the drills that a frame would hide, as in 6mm; 0 for none")
	b.Add(&p.Bleed, "bleed", "bleed that the print shop wants around the sheet; 0 leaves out crop marks too")
	b.Add(&p.FilmWidth, "film-width", "width of the sticky film's roll, as in 600mm, to mark its seams on grid lines")
	b.Add(&p.MediaWidth, "media-width", "what the shop's roll can print across, as in 610mm: a sheet that is wider is cut into panels, a page each")
	b.Add(&p.PanelOverlap, "panel-overlap", "how far panels overlap, in whole drills; 0 makes them butt on a grid line")
	b.Group("Sheets for your printer")
	b.Add(&p.Paper, "paper", "a4, letter, a3, legal, tabloid, or a size as in 20x30cm")
	b.Add(&p.PaperMargin, "paper-margin", "what the home printer cannot reach")
	b.Add(setting.Of(&p.Sheets, SheetsRead, SheetsBuild), "sheets", "read: pages to look at while working; build: true scale, to be joined and filmed")
	b.Add(&p.SheetCell, "sheet-cell", "side of a cell on pages to read; chosen to suit unless given")
	b.Group("Labels")
	b.Add(setting.Of(&p.LabelFor, ForContainer, ForBag), "label-for", "labels for containers or for bags")
	b.Add(&p.LabelSheet, "label-sheet", "a label sheet: label size, how many across and down, first label's corner, gaps, as in 63.5x38.1mm,3x7,7.2x15.1mm,2.5x0mm")
	b.Add(&p.LabelRound, "label-round", "round labels for lids of this diameter, as in 20mm")
	p.Supply.Bind(b)
	p.Plan.Bind(b)
	p.Shop.Bind(b)
	b.Group("The printer")
	b.Add(&p.Measured, "measured", "what the two bars of a test print came out as, across and down, as in 148.8mm,200.8mm; the next file makes up for it")
	b.Add(&p.MeasuredPicture, "measured-picture", "better, on a canvas that is printed: what its picture measures across and down, from the first line to the last, as in 499mm,401mm")
	b.Add(&p.MeasuredRow, "measured-row", "drills in a row against a ruler, as in 50=126mm, to propose a pitch")
	b.Bool(&p.NameFiles, "name-files", "put title, size and the kit's mark before the names of what is printed, as in Ginger-40x50cm-CDHXMH-canvas.pdf")
	b.Add(&p.Date, "date", "a date to print on every page and stamp into the files, as in 2026-11-26; none unless given")
}

// Settings returns the settings as text by flag name, as kit.json keeps them.
func (p Print) Settings() map[string]string {
	m := map[string]string{}
	p.flags().VisitAll(func(f *pflag.Flag) { m[f.Name] = f.Value.String() })
	return m
}

func (p *Print) flags() *pflag.FlagSet {
	fs := pflag.NewFlagSet("print", pflag.ContinueOnError)
	p.Bind(fs)
	return fs
}
