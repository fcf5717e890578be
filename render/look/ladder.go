package look

import (
	"fmt"
	"image"
	"strings"

	"kitwright/internal/say"
	"kitwright/render/letters"
)

// View is the photo in one number of colors.
type View struct {
	Colors   int     // that it uses
	Asked    int     // that were asked for
	Stones   Stones  // its finished picture
	Mean     float64 // CIEDE2000 off the photo, drill by drill
	Subject  float64 // the same on the subject alone; 0 if none is known
	Bound    float64 // proven: no choice of as many colors from the card has a lower mean; 0 if not known
	Far      float64 // CIEDE2000 off the photo from a distance
	Confetti float64 // share of drills with no like neighbor, 0 to 1
	Note     string  // a few words on what changes, or "": see LadderPicture.Magnify
}

// LadderPicture is what a ladder's picture shows. All rungs have one grid.
type LadderPicture struct {
	Title  string      // what the photo is called; may be empty
	Photo  image.Image // cropped as the canvas is; best at 2 or more pixels a drill
	Views  []View      // few colors to many; at least one
	Spot   Spot        // what to magnify: see Magnify
	Pick   int         // what to ask for to get the view that is recommended; 0: none
	Why    string      // the sentence that says why
	Meters float64     // the distance that Far is seen from
	Toned  string      // what was done to the photo's light, "made 2.0 times as bright"; may be empty
}

// Sizes in pixels of the ladder's picture.
const (
	ladderMargin  = 80
	ladderGap     = 96  // between columns
	ladderColumn  = 350 // least width of a rung's picture, and of its words
	ladderTall    = 1000
	ladderWide    = 720
	ladderShown   = 7   // rungs in pictures; one more if that makes them all
	ladderHill    = 280 // from the worst rung's ground to the best one's
	ladderGround  = 96  // what is seen of the ground under the best rung
	ladderLoupe   = 448 // most of a loupe's width
	ladderLoupePx = 10  // least width of a magnified drill
)

// ladderLayout is where everything goes: columns of one width, the photo first.
type ladderLayout struct {
	shown          []View
	px             int // pixels a drill
	width, height  int // of a picture
	column         int // of everything in a column
	loupe, loupePx int
	spot           Spot
	left           []int // of each column
	right          int   // of the last column
	sheetWidth     int
}

// DrawLadder draws the photo and its finished look in few to many colors. Each
// picture stands as high as it is off the photo, above the ground that is
// proven to be the lowest; under it the same spot is magnified.
//
// At most eight rungs are drawn as pictures; where there are more, those
// spread best stand for all, and a plot below shows every one.
func DrawLadder(l LadderPicture) *image.NRGBA {
	a := layOut(l)
	h := newHill(l, a)
	s := newSheet(a.sheetWidth, sheetHeight(l, a, h))
	y := drawHead(s, l, a)
	h.place(y + 64)
	h.draw(s)
	a.drawPictures(s, l, h)
	y = a.drawLoupes(s, l, h.bottom+48)
	y = a.drawWords(s, l, y+64)
	if len(l.Views) > len(a.shown) {
		y = drawAllCounts(s, l, a, y+40)
	}
	drawFoot(s, l, a, y+40)
	return s.img
}

// sheetHeight draws nothing: it walks down the sheet as DrawLadder does.
func sheetHeight(l LadderPicture, a *ladderLayout, h *hill) int {
	s := newSheet(a.sheetWidth, 0)
	y := drawHead(s, l, a)
	h.place(y + 64)
	y = a.drawLoupes(s, l, h.bottom+48)
	y = a.drawWords(s, l, y+64)
	if len(l.Views) > len(a.shown) {
		y = drawAllCounts(s, l, a, y+40)
	}
	return drawFoot(s, l, a, y+40) + ladderMargin
}

func layOut(l LadderPicture) *ladderLayout {
	a := &ladderLayout{}
	for _, i := range shownRungs(l.Views, l.Pick) {
		a.shown = append(a.shown, l.Views[i])
	}
	cols, rows := a.shown[0].Stones.Cols, a.shown[0].Stones.Rows
	a.spot = l.Spot
	if a.spot.Cells == 0 {
		a.spot = liveliest(cols, rows, nil)
	}
	a.px = max(1, min((ladderColumn+cols-1)/cols, ladderTall/rows))
	a.width, a.height = cols*a.px, rows*a.px
	if a.px == 1 && (a.width > ladderWide || a.height > ladderTall) {
		a.width, a.height = min(ladderWide, ladderTall*cols/rows), min(ladderTall, ladderWide*rows/cols)
		a.width, a.height = max(1, a.width), max(1, a.height)
	}
	a.column = max(ladderColumn, a.width)
	a.loupePx = max(ladderLoupePx, min(a.column, ladderLoupe)/a.spot.Cells)
	a.loupe = a.spot.Cells * a.loupePx
	a.column = max(a.column, a.loupe)
	x := ladderMargin
	for i := range len(a.shown) + 1 {
		a.left = append(a.left, x)
		x += a.column + ladderGap
		if i == 0 {
			x += ladderGap // the photo stands a little apart
		}
	}
	a.right = x - ladderGap
	a.sheetWidth = max(a.right+ladderMargin, 1500)
	return a
}

// middle returns the middle of column i; 0 is the photo.
func (a *ladderLayout) middle(i int) int { return a.left[i] + a.column/2 }

func drawHead(s *sheet, l LadderPicture, a *ladderLayout) int {
	title := l.Title
	if title == "" {
		title = "Your photo"
	}
	lead := "The lower a picture stands, the closer it comes to your photo. "
	if len(a.shown) > 1 {
		title += " in more and more colors"
	} else {
		title += " in " + say.Count(a.shown[0].Colors, "color")
		lead = ""
	}
	y := s.paragraph(ladderMargin, ladderMargin, a.sheetWidth-2*ladderMargin, letters.Bold, 60, ink, title)
	if groundKnown(a.shown) {
		lead += "The hatched ground is proven: no choice of colors from this card can stand lower."
	}
	return s.paragraph(ladderMargin, y+8, min(1900, a.sheetWidth-2*ladderMargin), letters.Regular, 36, quiet, lead)
}

func (a *ladderLayout) drawPictures(s *sheet, l LadderPicture, h *hill) {
	photo := scaled(l.Photo, frame(l.Photo), a.width, a.height)
	at := image.Pt(a.middle(0)-a.width/2, h.base-a.height)
	s.picture(photo, at)
	// A ring shows what the loupes magnify.
	cols := a.shown[0].Stones.Cols
	half := float64(a.spot.Cells) / 2
	cell := float64(a.width) / float64(cols)
	x := float64(at.X) + float64((float64(a.spot.X)+half)*cell)
	y := float64(at.Y) + float64((float64(a.spot.Y)+half)*cell)
	s.ring(x, y, float64(half*cell)+1.5, 7, ink)
	s.ring(x, y, float64(half*cell)+1.5, 4, white)
	for i, r := range a.shown {
		look := Paint(r.Stones, a.px)
		if look.Rect.Dx() != a.width || look.Rect.Dy() != a.height {
			look = scaled(look, frame(look), a.width, a.height)
		}
		at := image.Pt(a.middle(i+1)-a.width/2, h.level(r.Mean)-h.step-a.height)
		s.picture(look, at)
		if r.Asked == l.Pick {
			s.border(image.Rectangle{Min: at, Max: at.Add(look.Rect.Size())}.Inset(-14), 8, accent)
		}
	}
}

// drawLoupes magnifies the spot under each column and returns the bottom.
func (a *ladderLayout) drawLoupes(s *sheet, l LadderPicture, top int) int {
	if !s.measuring() {
		spot := a.spot
		cols, rows := a.shown[0].Stones.Cols, a.shown[0].Stones.Rows
		f := frame(l.Photo)
		f = part{f.x + f.w*float64(spot.X)/float64(cols), f.y + f.h*float64(spot.Y)/float64(rows),
			f.w * float64(spot.Cells) / float64(cols), f.h * float64(spot.Cells) / float64(rows)}
		s.loupe(scaled(l.Photo, f, a.loupe, a.loupe), a.middle(0), top, quiet, 3)
		for i, r := range a.shown {
			img := Paint(r.Stones.Window(spot.X, spot.Y, spot.Cells, spot.Cells), a.loupePx)
			if r.Asked == l.Pick {
				s.loupe(img, a.middle(i+1), top, accent, 8)
				continue
			}
			s.loupe(img, a.middle(i+1), top, quiet, 3)
		}
	}
	return top + a.loupe
}

// drawWords says under each column what it is, and returns the bottom.
func (a *ladderLayout) drawWords(s *sheet, l LadderPicture, top int) int {
	bottom := 0
	words := func(i int, c color, head string, lines ...string) {
		y := s.centered(a.middle(i), top, a.column, letters.Bold, 48, c, head)
		for _, line := range lines {
			if line == "" {
				continue
			}
			col := ink
			if strings.HasPrefix(line, "~") {
				line, col = line[1:], quiet
			}
			y = s.centered(a.middle(i), y+4, a.column, letters.Regular, 34, col, line)
		}
		bottom = max(bottom, y)
	}
	words(0, ink, "Your photo", "~the ringed spot")
	for i, r := range a.shown {
		c, note := ink, ""
		if r.Asked == l.Pick {
			c = accent
		}
		if r.Note != "" {
			note = "~" + r.Note
		}
		words(i+1, c, say.Count(r.Colors, "color"),
			offThe(r),
			fmt.Sprintf("%.2f from %s", r.Far, distance(l.Meters)),
			fmt.Sprintf("~%.1f %% lone drills", 100*r.Confetti), note)
	}
	return bottom
}

// offThe says how close a view comes: on the subject, where one is known, as
// the figure from afar is then of the subject, too.
func offThe(v View) string {
	if v.Subject > 0 {
		return fmt.Sprintf("%.2f off the subject", v.Subject)
	}
	return fmt.Sprintf("%.2f off the photo", v.Mean)
}

func drawFoot(s *sheet, l LadderPicture, a *ladderLayout, y int) int {
	width := min(2200, a.sheetWidth-2*ladderMargin)
	if l.Why != "" {
		top := y
		y = s.paragraph(ladderMargin+36, y, width-36, letters.Bold, 40, accent, l.Why)
		s.fill(image.Rect(ladderMargin, top+2, ladderMargin+10, y-2), accent)
		y += 28
	}
	return s.paragraph(ladderMargin, y, width, letters.Regular, 30, quiet, keyOf(l))
}

// keyOf says what the figures under the pictures mean.
func keyOf(l LadderPicture) string {
	toned := ""
	if l.Toned != "" {
		toned = "The photo was " + l.Toned + ": all figures are off what came of it. "
	}
	return toned + "Off the photo: the average visible difference between a drill and the photo under it (CIEDE2000). Under 2 is hard to see side by side, over 5 is plain (our reading, no source). " +
		"From " + distance(l.Meters) + ": the same after the blur of the eye at that distance (S-CIELAB). Lone drills have no neighbor of their color."
}

// distance says "two meters", "1.5 m".
func distance(m float64) string {
	switch m {
	case 1:
		return "one meter"
	case 2:
		return "two meters"
	case 3:
		return "three meters"
	case 4:
		return "four meters"
	}
	return fmt.Sprintf("%g m", m)
}
