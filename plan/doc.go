// Package plan goes from a chart to the work: what to have ready and what to
// buy, where to begin, what lies ready at each step, and how long it takes. A
// chart goes in, values come out; it knows nothing of paper.
//
// [Of] divides a chart into sections with an order of work; [Log] holds what was
// ticked off, and [Log.On] says how far a plan has come.
package plan
