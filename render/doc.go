// Package render puts a kit on paper.
//
// Begin with [Print], which holds everything that changes paper and nothing
// that changes a drill, and with [Canvas], the one true-scale page for a print
// shop. [Ticket], [TestPrint], [Sheets], [Labels] and [Legend] are the other
// prints; each writes one PDF. Pictures are made next door, in render/look.
//
// A print is decided before it is drawn: a layout (canvas, sheets, labels ...)
// turns a kit into pages, each a list of operations in millimeters, and
// render/pdf writes them. Nothing here has a clock, a random number or a map's
// order in it: the same kit and settings give the same bytes.
package render
