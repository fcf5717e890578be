package main

import (
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
)

// What is asked about before it is made, as it mostly is a slip of unit.
const (
	fewDrills, manyDrills = 1_000, 150_000
	smallPitch            = 1500 * measure.Micrometer // drills are sold 2 to 3 mm across: common practice, no source
	largePitch            = 6 * measure.Millimeter
)

// checkSlips refuses what can be made but is hardly meant: a size or a pitch in
// the wrong unit. A grid is counted in drills, so no unit can have slipped.
func checkSlips(o kit.Order, yes bool) error {
	if yes {
		return nil
	}
	pitch := o.Bare().Pitch
	if pitch < smallPitch || pitch > largePitch {
		return say.Usage(say.Hint("%s{yes} if it is meant", likelyPitch(pitch)), "drills %s apart are not sold, as far as we know", pitch)
	}
	if o.Grid != (kit.Cells{}) {
		return nil
	}
	n := drillsOf(o.Size, pitch)
	if n >= 1 && n < fewDrills || n > manyDrills && n <= kit.MaxDrills { // what cannot be made is refused with the layout
		return say.Usage(say.Hint("%s{yes} if it is meant", likelySize(o.Size, pitch)), "a picture of %s takes %s", sizeWords(o.Size, "cm"), say.Count(n, "drill"))
	}
	return nil
}

func drillsOf(z measure.Size, pitch measure.Length) int { return int(z.W/pitch) * int(z.H/pitch) }

// likelySize proposes the size in another unit that makes a picture as people
// make them.
func likelySize(z measure.Size, pitch measure.Length) string {
	for _, try := range []struct {
		to, from measure.Length
		unit     string
	}{{measure.Centimeter, measure.Millimeter, "cm"}, {measure.Centimeter, measure.Inch, "cm"}, {measure.Millimeter, measure.Centimeter, "mm"}, {measure.Inch, measure.Centimeter, "in"}} {
		w, h := z.W*try.to/try.from, z.H*try.to/try.from
		if n := drillsOf(measure.Size{W: w, H: h}, pitch); n >= fewDrills && n <= manyDrills && round(w, try.to) && round(h, try.to) {
			return strings.Join([]string{w.In(try.to), "x", h.In(try.to), try.unit, ", or "}, "")
		}
	}
	return ""
}

// round says whether a length is a number of units that a person would write.
func round(l, unit measure.Length) bool { return l*2%unit == 0 }

func likelyPitch(p measure.Length) string {
	for _, l := range []measure.Length{p / 10, p * 10, p * measure.Millimeter / measure.Inch} {
		if l >= 2*measure.Millimeter && l <= 4*measure.Millimeter {
			return l.String() + ", or "
		}
	}
	return ""
}
