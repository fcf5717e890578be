package kit

import (
	"github.com/spf13/pflag"

	"kitwright/internal/measure"
	"kitwright/internal/setting"
)

// Turn says whether a size may swap its sides to follow the photo.
type Turn string

// Fit says what happens to a photo whose proportions are not the canvas's.
type Fit string

// The choices of an order.
const (
	TurnPhoto Turn = "photo" // a tall photo gets a tall canvas
	TurnAsked Turn = "asked" // the size stays as it was asked for

	FitFill  Fit = "fill"  // the photo is cropped to fill the canvas
	FitWhole Fit = "whole" // the whole photo stays, the picture may get smaller
)

// Limits of what can be ordered.
const (
	MinColors, MaxColors = 2, 100
	MaxDrills            = 2_000_000
	MaxSide              = 5000 * measure.Millimeter // Acrobat and print shops end at 200 inches
)

// Order is what a crafter wants, as plain values: no paths, no pointers. The
// flags of the command, the form of the page and the "order" of kit.json are
// its faces; each setting is named and explained in Bind and nowhere else.
//
// Its three parts are three steps of the road, and each takes its own part
// alone, so that no later step can contradict an earlier one.
type Order struct {
	Canvas // [Source.Lay]
	Light  // [Source.Lay]
	Choice // [Prepared.Kit]
}

// Canvas is what is drilled on, and which part of the photo lies where on it.
type Canvas struct {
	Size   measure.Size // of the drilled picture
	Grid   Cells        // instead of Size, in drills
	Turn   Turn
	Fit    Fit
	Crop   Box
	CropTo Box    // what stays in when the photo is cropped to fill the picture
	Title  string // "" = the photo's name

	Caption     string // text in drills below the photo: one line, or two with a line break between
	CaptionSize CaptionSize
	Border      Border // a frame of whole drills

	Drill Shape
	Pitch measure.Auto // from drill to drill; the usual one of the shape unless given
}

// Light is what is told of the photo's subject and done to its light.
type Light struct {
	Subject    Box        // an ellipse drawn about the subject
	NoSubject  bool       // none, even where one tells itself from its ground
	Add, Cut   []Box      // ellipses that belong to the subject, and that do not
	Background Background // how the rest is treated
	Tone       Tone
}

// Choice is from which colors to choose, and what counts in choosing and
// laying them.
type Choice struct {
	Colors int      // 0 = as many as the ladder recommends
	Card   string   // the name of a built-in card or of the user's own
	Keep   []string // codes that have to be in
	Avoid  []string // codes that must not be in
	Focus  []Focus
	Rare   float64 // 0 to 1, see quantize.Options
	Calm   float64 // 0 to 1, see place.Options
	Least  int     // drills that a color has to have to be in; 0 or 1 = any number
	Effort Effort
	Turned bool // the canvas will be turned while it is worked on

	Own     bool  // only colors that are owned, as far as the drills go
	Stock   []Lot // what is owned, in the order's shape and size
	Spare   Spare // of every color, beyond the canvas
	Buy     int   // so many new colors at most
	BuyBags int   // or so many bags at most, of new colors or more of the owned ones
	BagSize int   // drills in a bag
}

// Tone says whether the photo's light is brought to what drills can show.
type Tone string

// The tones.
const (
	ToneAuto Tone = "auto" // exposure, darks, local contrast, sharpness, within narrow limits
	ToneNone Tone = "none" // the photo as it is
)

// CaptionSize is the size of the caption's letters.
type CaptionSize string

// The sizes of a caption.
const (
	CaptionFit   CaptionSize = "fit"   // large where there is room
	CaptionSmall CaptionSize = "small" // capitals 7 drills high
	CaptionLarge CaptionSize = "large" // capitals 10 drills high
)

// Effort is how long to look for better colors and for the proof that there
// are none; counted in iterations, never in seconds.
type Effort string

// The efforts.
const (
	EffortQuick  Effort = "quick"
	EffortNormal Effort = "normal"
	EffortProve  Effort = "prove"
)

// rareDefault is how strongly rare colors are kept unless asked otherwise. At
// 18 colors it brings the green of the demo cat's eyes back on every canvas
// tried, toned, for up to 3 percent of the mean; at 0.5 it did on half of them
// (TestCatKeepsHerGreenEyes).
const rareDefault = 0.7

// AutoColors as the number of colors leaves it to the ladder.
const AutoColors = 0

// DefaultOrder returns an order that only lacks a photo.
func DefaultOrder() Order {
	return Order{
		Canvas: Canvas{
			Size:        measure.Size{W: 30 * measure.Centimeter, H: 40 * measure.Centimeter},
			Turn:        TurnPhoto,
			Fit:         FitFill,
			CaptionSize: CaptionFit,
			Drill:       Square,
		},
		Light: Light{Tone: ToneAuto},
		Choice: Choice{
			Colors: 30,
			Card:   "munsell",
			Rare:   rareDefault,
			Calm:   0.5,
			Effort: EffortNormal,

			Spare:   Spare{10, 20, 300},
			BagSize: 200,
		},
	}
}

// Bind makes every setting of the order a flag of fs, with its present value
// as the default.
func (o *Order) Bind(fs *pflag.FlagSet) {
	b := setting.Bind(fs)
	b.Group("The picture")
	b.Add(&o.Size, "size", "the drilled picture, as in 30x40cm, 300x400mm or 12x16in")
	b.Add(&o.Grid, "grid", "the drilled picture counted in drills, as in 120x160, instead of {size}")
	b.Add(setting.Of(&o.Turn, TurnPhoto, TurnAsked), "turn", "photo: swap width and height to follow the photo; asked: keep them as they are")
	b.Add(setting.Of(&o.Fit, FitFill, FitWhole), "fit", "fill: crop the photo to fill the picture; whole: keep all of it and let the picture be smaller one way")
	b.Add(&o.Crop, "crop", "use only this part of the upright photo: left, top, width and height in percent, as in 10,5,80,90; or first and last cell of the grid that look draws, as in C4-P19; or pixels, as in 760px,200px,90px,60px")
	b.Add(&o.CropTo, "crop-to", "what stays in where the photo is cropped to fill the picture, a box as for {crop}; your pet, where it is known, unless given")
	b.Add(line{text{&o.Title, "TEXT"}}, "title", "the title on every print; the photo's name unless given")
	b.Group("Around the photo")
	b.Add(captionLines{text{&o.Caption, "TEXT"}}, "caption", `a line below the photo, set in drills, or two with \n between`)
	b.Add(setting.Of(&o.CaptionSize, CaptionFit, CaptionSmall, CaptionLarge), "caption-size", "small: capitals of 7 drills; large: of 10; fit: large where there is room")
	b.Add(&o.Border, "border", "a frame of so many drills on each side, and its color if you like, as in 3 or 3,N 2")
	b.Group("The drills")
	b.Add(setting.Of(&o.Drill, Square, Round), "drill", "the shape of the drills")
	b.Add(&o.Pitch, "pitch", "from drill to drill; 2.5mm for square and 2.8mm for round unless given")
	b.Add(colorCount{&o.Colors}, "colors", "how many colors, 2 to 100; auto: the fewest that look nearly as good as 60")
	b.Add(cardName{text{&o.Card, "NAME|FILE"}}, "card", "the colors to choose from: a built-in card, one you keep, or a file of any kind that card import reads")
	b.Add(codes(&o.Keep), "keep", "codes that have to be among the colors")
	b.Add(codes(&o.Avoid), "avoid", "codes that must not be among the colors")
	b.Bool(&o.Turned, "turned", "for a canvas that you turn while you work: symbols that stay apart whichever way they are held")
	b.Group("From what you own")
	b.Bool(&o.Own, "own", "only colors that you own in this shape and size, never more drills than you have of each")
	b.Add(whole{&o.Buy, 0, maxBuy}, "buy", "with {own}: up to so many new colors, as many drills of each as it takes")
	b.Add(whole{&o.BuyBags, 0, maxBags}, "buy-bags", "with {own}: up to so many bags, of new colors or more of those you own")
	b.Add(whole{&o.BagSize, 1, maxOwned}, "bag-size", "how many drills a bag to buy holds")
	b.Add(stock(&o.Stock), "stock", "what you own, as in SR-041=340,SR-062/AB=120; read from your stash unless given")
	b.Add(spare{&o.Spare}, "own-extra", "what of your own drills stays beyond the canvas: percent, least and most of a color; as the extra drills of the list unless given")
	b.Group("What counts")
	b.Add(about{&o.Subject, &o.NoSubject}, "subject", "an ellipse drawn about your pet: the box around it, as for {crop}; its outline is found from there, and what lies around it counts less. none: take no outline, not even one that the photo tells by itself")
	b.Add(boxes(&o.Add), "add", "an ellipse that belongs to your pet and was left out of the outline, a box as for {crop}; may be repeated")
	b.Add(boxes(&o.Cut), "cut", "an ellipse that does not belong to your pet and was taken for it; may be repeated")
	b.Add(&o.Background, "background", "what is not the subject. soft: it counts a quarter; 4, 2 or 1: it gets as many calm colors; plain=CODE: all of it in one color")
	b.Add(setting.Of(&o.Tone, ToneAuto, ToneNone), "tone", "auto: bring dark fur and dim light to what drills can show, within narrow limits; none: leave the photo as it is")
	b.Add(focuses(&o.Focus), "focus", "a circled part of the photo where a difference counts more, such as the eyes: the box around it, as for {crop}, and how many times more (3 unless given, at most 20); may be repeated")
	b.Add(share{&o.Rare}, "rare", "0: all drills count alike; 1: rare colors such as green eyes are kept at the cost of the rest")
	b.Add(share{&o.Calm}, "calm", "0: closest to the photo from across the room; 1: hardly a lone drill, easiest to set")
	b.Add(whole{&o.Least, 0, maxLeast}, "least", "leave out every color that fewer drills than this would have, and give them to others, as in 30; what has to be among the colors stays. 0: leave out none")
	b.Add(setting.Of(&o.Effort, EffortQuick, EffortNormal, EffortProve), "effort", "how hard to look for the best colors and the proof that they are")
}

// Settings returns the order as text by flag name, as kit.json keeps it.
func (o Order) Settings() map[string]string {
	m := map[string]string{}
	flags(&o).VisitAll(func(f *pflag.Flag) { m[f.Name] = f.Value.String() })
	return m
}
