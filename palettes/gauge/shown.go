package gauge

import "image"

// LongSide is the longer side of a picture that is measured; larger ones are
// reduced, which costs nothing: a patch needs some 20 pixels.
const LongSide = 6000

// Shown is what pictures show: a supplier's card or, without one, measuring
// sheets.
type Shown struct {
	Grid   *Sheet   // the card as its colors lie
	Frames []*Frame // the sheets it may be
}

// Read measures a picture and returns where it was measured. A card needs its
// corners; those of a measuring sheet are looked for unless they are given.
func (s Shown) Read(img *image.NRGBA, corners *[4]Point, opt Options) (r *Reading, at [4]Point, err error) {
	sheet := s.Grid
	if corners != nil {
		at = *corners
	}
	if sheet == nil {
		var f *Frame
		if corners != nil {
			f, err = FindAt(img, s.Frames, at)
		} else {
			f, at, err = Find(img, s.Frames)
		}
		if err != nil {
			return nil, at, err
		}
		sheet = f.Sheet()
	}
	r, err = sheet.Measure(img, at, opt)
	return r, at, err
}
