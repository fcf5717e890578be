// Package stash keeps the drills that a crafter owns in a ledger: a CSV file of
// hers that only ever grows. What is owned is the sum of its column "drills",
// a lot a key: card, code, finish, shape and size are never mixed.
//
// Begin with [Open] and [Ledger.Lots]. [Ledger.Add], [Ledger.Count],
// [Ledger.Take], [Ledger.Return] and [Ledger.Undo] write entries: each is whole
// in the file or not at all, however the run ends, and two runs at once take
// turns. A line that is broken is named and does not count; the rest stays
// readable ([Ledger.Faults], [Ledger.Repair]).
package stash
