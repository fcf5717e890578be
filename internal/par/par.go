// Package par does many like things on all processors, and comes to the same
// result on any number of them.
//
// Begin with [Rows]. What is done for a row may read what nobody writes
// meanwhile and write only what belongs to the row; who does it, and when,
// then never shows.
package par

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// Rows calls do for each of 0..n-1, several at a time, and returns when all
// are done.
func Rows(n int, do func(row int)) {
	Workers(n, func(_, row int) { do(row) })
}

// Workers is Rows that also says which worker is at it, 0 to Count(n)-1, for
// those that need room of their own.
func Workers(n int, do func(worker, row int)) {
	_ = Until(context.Background(), n, do) // nothing ends the background
}

// Until is Workers that begins no further row once ctx has ended. It waits for
// those begun and returns ctx.Err(); the rows done are always the first ones.
func Until(ctx context.Context, n int, do func(worker, row int)) error {
	count := Count(n)
	if count <= 1 {
		for row := 0; row < n && ctx.Err() == nil; row++ {
			do(0, row)
		}
		return ctx.Err()
	}
	var next atomic.Int64
	var wait sync.WaitGroup
	for worker := range count {
		wait.Go(func() {
			for ctx.Err() == nil {
				row := int(next.Add(1)) - 1
				if row >= n {
					return
				}
				do(worker, row)
			}
		})
	}
	wait.Wait()
	return ctx.Err()
}

// Bands calls do with the bands from..to-1 that together make up 0..n-1, one
// for each worker, all at once. Only for work that comes out the same however
// it is cut.
func Bands(n int, do func(from, to int)) {
	count := Count(n)
	Rows(count, func(i int) { do(i*n/count, (i+1)*n/count) })
}

// Count is how many workers n rows get: one a processor, at most one a row.
func Count(n int) int { return min(n, runtime.GOMAXPROCS(0)) }
