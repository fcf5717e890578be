package photo

import (
	"fmt"
	"math"

	"kitwright/lab"
)

// Advice is one thing that a crafter should know before the work begins.
type Advice struct {
	Key  string // "resolution", "blur", "highlights", "subject" or "eyes"
	Says string // what will not look right, one sentence, no full stop
	Try  string // what would help, no full stop
}

// View is what advice is drawn from.
type View struct {
	PixelsPerDrill float64   // photo pixels along the side of a drill
	Picture        *Linear   // the target before any tone, a cell a drill
	Subject        *Mask     // of the same size; nil = not known
	Focus          []Ellipse // eyes and the like, in percent of the picture
}

// Bounds of the advice. (Our choice, no source, but for the blur: see blur.)
const (
	fewPixels    = 1.5  // below it a camera's own softness shows
	goodPixels   = 2.0  // what a hint aims at
	blurredAt    = 0.78 // of blur
	clippedLight = 0.97 // of full light, in all three colors
	clippedShare = 0.05 // of the subject
	smallSubject = 60   // drills, the longer side of the subject's box
	smallEye     = 6    // drills across
)

// Advise returns what should be known about the part of a photo that is laid
// out as the given picture, a cell a drill, worst first; nothing if all is well.
func (p *Photo) Advise(crop Crop, picture *Linear, subject *Mask, focus []Ellipse) []Advice {
	c := crop
	if c == (Crop{}) {
		c = p.Whole()
	}
	v := View{math.Min(c.W/float64(picture.Cols), c.H/float64(picture.Rows)), picture, subject, nil}
	for _, e := range focus {
		v.Focus = append(v.Focus, p.Within(crop, e))
	}
	return v.Advise()
}

// Advise returns what should be known about a view; nothing if all is well.
func (v View) Advise() []Advice {
	var all []Advice
	say := func(key, try, says string, args ...any) {
		all = append(all, Advice{key, fmt.Sprintf(says, args...), try})
	}
	flat := v.Picture.Flat()
	switch {
	case v.PixelsPerDrill < fewPixels:
		try := "use the original photo rather than a copy sent by message, or crop less"
		if share := 100 * v.PixelsPerDrill / goodPixels; share >= 10 {
			try += fmt.Sprintf(", or choose a canvas of %.0f percent of this size", share)
		}
		say("resolution", try,
			"the photo has only %.1f pixels along each drill, so fine detail will look soft", v.PixelsPerDrill)
	case !flat && v.blur() > blurredAt:
		say("blur", "take a sharper photo, or choose a smaller canvas, on which it shows less",
			"the photo is blurred over more than one drill, so fur and whiskers will run together")
	}
	if share := v.clipped(); !flat && share > clippedShare {
		say("highlights", "take a photo with less light on it; what is pure white holds no fur to paint",
			"%.0f percent of the %s is burnt out to pure white", 100*share, v.what())
	}
	if v.Subject != nil && v.Subject.Count() > 0 {
		x0, y0, x1, y1 := v.Subject.Box()
		if long := max(x1-x0, y1-y0); long < smallSubject {
			say("subject", "crop tighter, or choose "+larger(smallSubject, float64(long)),
				"the subject is only %d drills long, too few for much likeness", long)
		}
	}
	least := math.Inf(1)
	for _, e := range v.Focus {
		least = math.Min(least, math.Min(e.W*float64(v.Picture.Cols), e.H*float64(v.Picture.Rows))/100)
	}
	if least < smallEye {
		say("eyes", "crop tighter, or choose "+larger(smallEye, least),
			"an eye is only %.1f drills across; pupil, color and glint need %d", least, smallEye)
	}
	return all
}

// larger says how much larger a canvas makes what is now is as long as it
// should be, rounded up to a tenth.
func larger(should, is float64) string {
	if is <= 0 {
		return "a larger canvas"
	}
	return fmt.Sprintf("a canvas %.1f times as wide and high", math.Ceil(10*should/is)/10)
}

func (v View) what() string {
	if v.Subject == nil {
		return "picture"
	}
	return "subject"
}

// clipped returns the share of the subject that is pure white.
func (v View) clipped() float64 {
	n, of := 0, 0
	for i, c := range v.Picture.Cells {
		if v.Subject != nil && !v.Subject.In[i] {
			continue
		}
		of++
		if min(c[0], c[1], c[2]) >= clippedLight {
			n++
		}
	}
	if of == 0 {
		return 0
	}
	return float64(n) / float64(of)
}

// blur measures the softness of the picture at the size of drills, from 0
// (crisp) to 1, within the subject's box: how much of the steps from cell to
// cell is left when it is blurred over 5 cells once more. F. Crete, T. Dolmiere,
// P. Ladret, M. Nicolas, "The blur effect: perception and estimation with a new
// no-reference perceptual blur metric", SPIE 6492 (2007), in the form of
// scikit-image's blur_effect, the worse of both directions; 0 for pictures too
// small to tell or without any steps.
//
// (Twelve sharp photos sampled to 100 and 160 cells measure 0.32 to 0.67, the
// same blurred by a Gaussian of 1.5 cells 0.64 to 0.89.)
func (v View) blur() float64 {
	l := v.Picture
	x0, y0, x1, y1 := 0, 0, l.Cols, l.Rows
	if v.Subject != nil && v.Subject.Count() > 0 {
		x0, y0, x1, y1 = v.Subject.Box()
	}
	w, h := x1-x0, y1-y0
	if w < 12 || h < 12 {
		return 0
	}
	light := make([]float64, 0, w*h)
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			light = append(light, lab.Lightness(lab.Luminance(l.Cells[y*l.Cols+x])))
		}
	}
	turned := make([]float64, w*h)
	for i, v := range light {
		turned[i%w*h+i/w] = v
	}
	return math.Max(softness(light, w, h), softness(turned, h, w))
}

// softness is blur along the rows.
func softness(p []float64, w, h int) float64 {
	soft := make([]float64, len(p))
	for i := range p {
		row, x := i-i%w, i%w
		sum := 0.0
		for k := -2; k <= 2; k++ {
			at := x + k
			if at < 0 {
				at = -1 - at
			} else if at >= w {
				at = 2*w - 1 - at
			}
			sum += p[row+at]
		}
		soft[i] = sum / 5
	}
	step := func(p []float64, i int) float64 { // Sobel's
		d := func(i int) float64 { return p[i+1] - p[i-1] }
		return float64(math.Abs(d(i-w)+float64(2*d(i))+d(i+w)) / 8)
	}
	var all, lost float64
	for y := 2; y < h-1; y++ {
		for x := 2; x < w-1; x++ {
			s := step(p, y*w+x)
			all += s
			lost += math.Max(0, s-step(soft, y*w+x))
		}
	}
	if all == 0 {
		return 0
	}
	return (all - lost) / all
}
