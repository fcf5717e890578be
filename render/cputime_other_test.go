//go:build !unix

package render

import "time"

var started = time.Now()

// cpuTime stands in for processor time where there is no plain way to it.
func cpuTime() time.Duration { return time.Since(started) }
