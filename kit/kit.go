// Package kit is the one road from a photo to a kit: an [Order] says what is
// wanted, [Make] does it, and a [Kit] is everything that the prints are made
// from. It composes the other packages and computes little itself.
package kit

import (
	"kitwright/chart"
	"kitwright/internal/measure"
	"kitwright/photo/tone"
)

// Shape is the shape of the drills.
type Shape string

// The two shapes of resin drills.
const (
	Square Shape = "square"
	Round  Shape = "round"
)

// Kit is a finished chart with everything needed to print it, count it and
// make it again without the photo. All lengths are whole micrometers.
type Kit struct {
	Order   map[string]string // the settings it was ordered with, by flag name
	Print   map[string]string // the settings its prints were made with, by flag name
	Sheet   *Sheet            // of its canvas, as it was printed last; nil = not known
	Title   string            // on every print
	Drill   Drill
	Pitch   measure.Length // from drill to drill
	Card    CardRef
	Chart   *chart.Chart
	Quality Quality
	Photo   PhotoRef
	Tone    tone.Changes // what was done to the photo's light before the choice of colors
	Advice  []string     // what to know about the photo, a sentence and a hint each
	Stopped bool         // the search for colors was ended by hand
	Own     *Own         // what charting from owned drills cost; nil = it was not

	YourCodes map[string]string // what she calls drills, by address, for those that she said

	Target    *Target // what the chart is judged by; nil = not at hand
	TargetSum string  // its Sum, as kit.json keeps it; "" in kits made before there was one
	Edits     *Edits  // what was changed by hand; nil = nothing ever
}

// Sheet is the size of a canvas sheet once it is cut, and of the page in its
// file, with bleed and marks and as it was scaled for a printer, mm.
type Sheet struct {
	TrimWidth  float64 `json:"trim_width_mm"`
	TrimHeight float64 `json:"trim_height_mm"`
	PageWidth  float64 `json:"page_width_mm"`
	PageHeight float64 `json:"page_height_mm"`
}

// Drill is what is set on the canvas.
type Drill struct {
	Shape Shape
	Size  measure.Length // across, as sold
}

// Width returns the width of the drilled picture.
func (k *Kit) Width() measure.Length { return measure.Length(k.Chart.Cols) * k.Pitch }

// Height returns the height of the drilled picture.
func (k *Kit) Height() measure.Length { return measure.Length(k.Chart.Rows) * k.Pitch }

// CardRef names the card a kit was charted from.
type CardRef struct {
	Name    string
	SHA256  string // of the card as CSV
	Builtin bool   // reference colors, not a supplier's codes
}

// PhotoRef names the photo a kit was made from; never a path.
type PhotoRef struct {
	Name   string
	SHA256 string
}

// Quality says how close the chart is to its target, the sampled photo. All
// differences are CIEDE2000, rounded to 4 decimals; bounds are rounded down.
type Quality struct {
	MeanMiss  float64 `json:"mean_miss"`
	P95Miss   float64 `json:"p95_miss"`
	WorstMiss float64 `json:"worst_miss"`
	Confetti  float64 `json:"confetti"` // share of drills with no like neighbor, 0 to 1

	// SubjectMiss is the mean of the subject alone, where one is known.
	SubjectMiss float64 `json:"subject_miss,omitempty"`

	// The choice of colors: what was minimised, what it came to, and what no
	// choice of as many colors can be below, both as a mean by the weights of
	// the objective.
	Objective string  `json:"objective"`
	Cost      float64 `json:"cost"`
	Bound     float64 `json:"bound"`
	Gap       float64 `json:"gap"` // (cost - bound) / cost: what another choice could save at most
	Proven    bool    `json:"proven"`

	// The plain mean, whatever was minimised: these colors with the nearest in
	// each cell, the best as many colors of the card found for it, and what no
	// as many colors of the card get below.
	MeanNearest float64 `json:"mean_nearest"`
	MeanBest    float64 `json:"mean_best"`
	MeanBound   float64 `json:"mean_bound"`
	MeanProven  bool    `json:"mean_proven"`

	// Parts of MeanNearest - MeanBest: what came of exchanging colors for how
	// they are laid, and of leaving out colors of few drills.
	MeanExchanged float64 `json:"mean_exchanged,omitempty"`
	MeanLeftOut   float64 `json:"mean_left_out,omitempty"`

	BestColors int `json:"best_colors,omitempty"` // of MeanBest, where they are not as many as the chart's

	// Bought names the color that gained most over the plain mean's choice:
	// what the difference was spent on; "" where there is none.
	Bought string `json:"bought,omitempty"`
}

// ReferenceNote is shown wherever a built-in card's codes are.
const ReferenceNote = "Reference colors, not a supplier's codes: bring your own card before you buy."
