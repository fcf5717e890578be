// Package plan goes from a chart to the work: what to have ready and what to
// buy, where to begin, what lies ready at each step, and how long it takes. A
// chart goes in, values come out; it knows nothing of paper.
//
// [List] is the one place that counts what to have and to buy: extra, bags,
// price and weight of every color. Whatever shows it, on paper, in a table or on
// a screen, takes it from there.
//
// [Of] divides a chart into sections with an order of work; [Log] holds what was
// ticked off, and [Log.On] says how far a plan has come.
package plan
