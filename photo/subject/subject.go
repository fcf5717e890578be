// Package subject finds which part of a photo is the pet: by transparency, by a
// plain ground, or from an ellipse drawn by hand. Begin with [Find].
package subject

import "kitwright/photo"

// working is the long side, in cells, of the picture in which a subject is
// looked for: fine enough for fur, small enough for half a second.
const working = 320

// Find returns which cells of a cols x rows canvas show the subject, or nil
// where nothing tells.
//
// By itself it goes by the photo's transparency, or else by a ground of one
// plain color all around. A hand-drawn ellipse about the subject, in percent
// of the whole photo, is refined by its colors ([Cut]); it need not reach every
// ear and paw, but should lie mostly on the subject.
func Find(p *photo.Photo, crop photo.Crop, cols, rows int, hand *photo.Ellipse) *photo.Mask {
	m := ByOpacity(p.Opacity(crop, cols, rows), cols, rows)
	if hand == nil && m != nil {
		return m
	}
	w, h := working, max(1, working*rows/cols)
	if rows > cols {
		w, h = max(1, working*cols/rows), working
	}
	small := p.Linear(crop, w, h)
	flat := ByPlainGround(small.Grid())
	if hand == nil {
		return resize(flat, cols, rows)
	}
	e := p.Within(crop, *hand)
	switch {
	case m != nil:
		near(m, e)
		return m
	case flat != nil:
		near(flat, e)
		return resize(flat, cols, rows)
	}
	return resize(Cut(small, e), cols, rows)
}

// ByOpacity returns the cells that are at least half opaque ([photo.Photo.Opacity]);
// nil where that leaves no subject or no ground.
func ByOpacity(opacity []float64, cols, rows int) *photo.Mask {
	m := &photo.Mask{Cols: cols, Rows: rows, In: make([]bool, cols*rows), By: "transparency"}
	for i, o := range opacity {
		m.In[i] = o >= 0.5
	}
	return useful(m)
}
