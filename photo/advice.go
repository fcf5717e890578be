package photo

import (
	"fmt"
	"math"
)

// Advice is one thing that a crafter should know before the work begins.
type Advice struct {
	Key  string // "resolution", "blur", "motion", "soft", "compression", "highlights", "subject" or "eyes"
	Says string // what will not look right, one sentence, no full stop
	Try  string // what would help, no full stop
}

// View is what advice is drawn from.
type View struct {
	PixelsPerDrill float64   // photo pixels along the side of a drill
	Picture        *Linear   // the target before any tone, a cell a drill
	Subject        *Mask     // of the same size; nil = not known
	Focus          []Ellipse // eyes and the like, in percent of the picture
	Sharp          Sharpness
}

// Bounds of the advice. (Our choice, no source.)
const (
	fewPixels    = 1.5  // below it a camera's own softness shows
	goodPixels   = 2.0  // what a hint aims at
	poorQuality  = 20   // of a JPEG; what is sent by message has 50 and more
	hiddenPixels = 16   // along a drill: a JPEG's squares of 8 pixels, and 16 of color, then vanish in the mean
	clippedLight = 0.97 // of full light, in all three colors
	clippedShare = 0.05 // of the subject
	smallSubject = 60   // drills, the longer side of the subject's box
	smallEye     = 6    // drills across
)

// Advise returns what should be known about the part of a photo that is laid
// out as the given picture, a cell a drill, worst first; nothing if all is well.
func (p *Photo) Advise(crop Crop, picture *Linear, sharp Sharpness, subject *Mask, focus []Ellipse) []Advice {
	c := crop
	if c == (Crop{}) {
		c = p.Whole()
	}
	v := View{math.Min(c.W/float64(picture.Cols), c.H/float64(picture.Rows)), picture, subject, nil, sharp}
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
	case flat:
	case v.Sharp.edges > blurAt:
		say("blur", "take a sharper photo, or choose a smaller canvas, on which it shows less",
			"the photo is blurred over more than one drill, so fur and whiskers will run together")
	case v.Sharp.shaken():
		say("motion", "take it again with more light or a steadier hand, or choose another photo of the same moment",
			"the photo is blurred in one direction, as if camera or animal had moved, so fur and whiskers will run together")
	case v.Sharp.soft(v.PixelsPerDrill):
		say("soft", "look for the original: copies that were sent by message or enlarged are like that",
			"the photo is far softer than its pixels promise, so fine detail will be missing")
	}
	if !flat && v.Sharp.quality > 0 && v.Sharp.quality < poorQuality && v.PixelsPerDrill < hiddenPixels {
		say("compression", "use the original photo rather than a copy sent by message",
			"the photo was saved at a very low quality (about %d of 100), which leaves squares and false colors", v.Sharp.quality)
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
