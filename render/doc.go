// Package render puts a kit on paper and on the screen.
//
// Begin with [Print], which holds everything that changes paper and nothing
// that changes a drill, and with [Canvas], the one true-scale page for a print
// shop. [Ticket], [TestPrint], [Sheets], [Labels] and [Legend] are the other
// prints; each writes one PDF. [Preview] and [Ladder] are pictures.
//
// A print is decided before it is drawn: a layout (canvas, sheets, labels ...)
// turns a kit into pages, each a list of operations in millimeters (ops.go);
// document draws them with gofpdf, writes the charts as raw operators in cell
// units (gridops.go), and finish.go makes the file one that a print shop
// accepts: exact page boxes, tagged sRGB, PDF/A-1b. Nothing here has a clock, a
// random number or a map's order in it: the same kit and settings give the
// same bytes.
package render
