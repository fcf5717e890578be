package main

import (
	"strings"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
)

// What is asked about before it is made, as it mostly is a slip of unit.
const (
	fewDrills  = 1_000
	manyDrills = 150_000                   // 30 x 40 inches still pass, 40 x 50 inches don't
	mostMeant  = 240_000                   // in whole centimeters: the 100 x 150 cm of a wall
	smallPitch = 1500 * measure.Micrometer // drills are sold 2 to 3 mm across: common practice, no source
	largePitch = 6 * measure.Millimeter
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
	if n >= 1 && n < fewDrills || n > largestMeant(o.Size) && n <= kit.MaxDrills { // what cannot be made is refused with the layout
		return say.Usage(say.Hint("%s{yes} if it is meant", likelySize(o.Size, pitch)), "a picture of %s takes %s", sizeWords(o.Size, "cm"), say.Count(n, "drill"))
	}
	return nil
}

// largestMeant returns up to how many drills a size is taken as it is told. What
// is whole centimeters was not told in inches by mistake, so it may be larger.
func largestMeant(z measure.Size) int {
	if z.W%measure.Centimeter == 0 && z.H%measure.Centimeter == 0 {
		return mostMeant
	}
	return manyDrills
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
