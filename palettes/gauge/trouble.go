package gauge

import (
	"fmt"
	"math"

	"kitwright/internal/say"
	"kitwright/lab"
)

// trouble is what a picture tells about whether it can be trusted. The
// thresholds were measured on simulated photos, good ones and spoiled ones.
type trouble struct {
	spots   int     // white spots that could be used
	clipped float64 // share of white spots burnt out
	paper   float64 // how bright the white paper is, of 255
	inPatch float64 // median share of white in the patches' windows
	gapsOK  float64 // share of white spots within 12 percent of the field
	support float64 // median share of a window in its commonest color
	rms     float64 // of the white about the field, logarithms
	span    float64 // brightest over darkest white
	redBlue float64 // most over least of red to blue in the white
	tint    float64 // how far the white's a*b* spreads
	ramps   bool    // the gray ramps do not rise, or disagree
}

// judge gathers what the picture tells.
func (s *Sheet) judge(p picture, h homography, f field, w whites, modes []spotColor, windows [][][3]float64, t *trouble) {
	var inPatch, support []float64
	for i, patch := range s.Patches {
		white := f.at(patch.center())
		n := 0
		for _, v := range windows[i] {
			l := decodeAll(v)
			if l[0] >= 0.85*white[0] && l[1] >= 0.85*white[1] && l[2] >= 0.85*white[2] {
				n++
			}
		}
		inPatch = append(inPatch, float64(n)/float64(len(windows[i])))
		support = append(support, modes[i].support)
	}
	t.inPatch, t.support = median(inPatch), median(support)

	var square float64
	lo, hi := math.Inf(1), 0.0
	ratioLo, ratioHi := math.Inf(1), 0.0
	var aLo, aHi, bLo, bHi float64
	ok := 0
	for i, at := range w.at {
		light, white := decodeAll(w.v[i]), f.at(at)
		off := f.off(at, light)
		square += float64(off * off)
		if off < math.Log(1.12) {
			ok++
		}
		y := float64(0.2126*white[0]) + float64(0.7152*white[1]) + float64(0.0722*white[2])
		lo, hi = min(lo, y), max(hi, y)
		rb := white[0] / white[2]
		ratioLo, ratioHi = min(ratioLo, rb), max(ratioHi, rb)
		c := colorOf(scaled(white, 0.9/max(white[0], white[1], white[2])))
		if i == 0 {
			aLo, aHi, bLo, bHi = c.A, c.A, c.B, c.B
		}
		aLo, aHi, bLo, bHi = min(aLo, c.A), max(aHi, c.A), min(bLo, c.B), max(bHi, c.B)
	}
	n := float64(len(w.at))
	t.rms, t.gapsOK, t.span, t.redBlue = math.Sqrt(square/n), float64(ok)/n, hi/lo, ratioHi/ratioLo
	t.tint = math.Hypot(aHi-aLo, bHi-bLo)
	t.ramps = s.rampsWrong(p, h, f)
}

func scaled(v [3]float64, by float64) [3]float64 { return [3]float64{v[0] * by, v[1] * by, v[2] * by} }

// rampsWrong says whether the gray ramps of our sheet fail to rise, or show
// one gray at two places as two.
func (s *Sheet) rampsWrong(p picture, h homography, f field) bool {
	var before [2]float64
	for i := range s.Grays[0] {
		var y [2]float64
		for k := range s.Grays {
			r := s.Grays[k][i]
			l, white := decodeAll(mode(p.window(h, r)).v), f.at(r.center())
			y[k] = l[1] / white[1]
			if i > 0 && y[k] <= before[k] {
				return true
			}
		}
		if i > 0 && (y[0] > float64(1.35*y[1])+0.02 || y[1] > float64(1.35*y[0])+0.02) {
			return true
		}
		before = y
	}
	return false
}

// refuse says why the picture cannot be used; early, by what is known before
// the field of the light.
func (t *trouble) refuse(early bool) error {
	const again = "check {corners} and the layout; nothing but white paper may lie between the colors"
	switch {
	case t.clipped > 0.30:
		return say.Failed("shoot half a stop to one stop darker: the paper should read 200 to 240 of 255", "the white paper is burnt out in %.0f percent of its places", 100*t.clipped)
	case t.spots > 0 && t.paper < 80:
		return say.Failed("use more light or a longer exposure: the paper should read 200 to 240 of 255", "the white paper is too dark, %.0f of 255", t.paper)
	case t.spots < 8:
		return say.Failed(again, "hardly any white paper was found between the colors")
	case early:
		return nil
	case t.inPatch > 0.9:
		return say.Failed("lay the drills before you take the photo; count rows and columns against the layout", "most of the places where colors should lie show white paper")
	case t.inPatch > 0.10:
		return say.Failed("corners have to be good to a tenth of a patch; count rows and columns against the layout", "the corners or the layout do not fit the picture: %.0f percent of the places where colors should lie are white", 100*t.inPatch)
	case t.gapsOK < 0.85 || t.rms > 0.10:
		return say.Failed(again, "what lies between the colors is not evenly lit white paper: the corners, the layout, a hard shadow, or a photo of a screen or a print")
	case t.span > 5:
		return say.Failed("turn the card to the window, or use two lamps", "one end of the card is %.1f times as bright as the other", t.span)
	case t.redBlue > 2:
		return say.Failed("use one kind of light: close the curtain or switch off the lamp", "two kinds of light fall on the card")
	}
	return nil
}

// warnings says what makes the result less certain.
func (t *trouble) warnings() (w []string) {
	add := func(when bool, format string, args ...any) {
		if when {
			w = append(w, fmt.Sprintf(format, args...))
		}
	}
	add(t.clipped > 0.05, "the white paper is burnt out in %.0f percent of its places: shoot half a stop to one stop darker", 100*t.clipped)
	add(t.paper < 140, "the white paper is dark, %.0f of 255: shoot brighter, so that it reads 200 to 240", t.paper)
	add(t.gapsOK < 0.95, "a shadow or something else than paper lies between some colors")
	add(t.support < 0.33, "the colors look uneven: the corners may be off, the picture out of focus, or it shows a print or a screen instead of the card")
	add(t.rms > 0.02 && t.gapsOK >= 0.95, "the light is uneven in a way no lamp makes: switch off HDR and night modes, and keep your shadow off")
	add(t.span > 2.5, "one end of the card is %.1f times as bright as the other", t.span)
	add(t.redBlue > 1.3 || t.tint > 12, "two kinds of light seem to mix on the card")
	add(t.ramps, "the gray steps at the sheet's ends do not agree: the picture was worked on, or the print is uneven")
	return w
}

// far returns the difference of two reads.
func far(a, b Read) float64 { return lab.DeltaE(a.Lab, b.Lab) }
