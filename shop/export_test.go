package shop

import "time"

// At gives a watch a clock of its own, before it is opened.
func (w *Watch) At(now func() time.Time) { w.now = now }
