package par

import (
	"context"
	"fmt"
	"runtime"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func onProcessors(t *testing.T, do func(t *testing.T, procs int)) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, procs := range []int{1, 2, 5} {
		runtime.GOMAXPROCS(procs)
		do(t, procs)
	}
}

func TestEveryRowOnce(t *testing.T) {
	onProcessors(t, func(t *testing.T, procs int) {
		for _, n := range []int{0, 1, 2, 7, 100} {
			rows := make([]int32, n)
			Rows(n, func(row int) { atomic.AddInt32(&rows[row], 1) })
			bands := make([]int32, n)
			Bands(n, func(from, to int) {
				for i := from; i < to; i++ {
					atomic.AddInt32(&bands[i], 1)
				}
			})
			for i := range n {
				require.EqualValues(t, 1, rows[i])
				require.EqualValues(t, 1, bands[i])
			}
			// No two are at work with the same number at the same time.
			busy := make([]int32, Count(n))
			Workers(n, func(worker, _ int) {
				assert.EqualValues(t, 1, atomic.AddInt32(&busy[worker], 1))
				runtime.Gosched()
				atomic.AddInt32(&busy[worker], -1)
			})
			assert.LessOrEqual(t, Count(n), procs)
		}
	})
}

func TestUntilEnds(t *testing.T) {
	onProcessors(t, func(t *testing.T, procs int) {
		ctx, cancel := context.WithCancel(context.Background())
		done := make([]int32, 1000)
		err := Until(ctx, len(done), func(_, row int) {
			atomic.AddInt32(&done[row], 1)
			if row == 20 {
				cancel()
			}
		})
		require.ErrorIs(t, err, context.Canceled)
		last := 0
		for i, n := range done {
			if n > 0 {
				last = i
			}
		}
		assert.GreaterOrEqual(t, last, 20)
		assert.Less(t, last, 20+procs+100, "it went on")
		for i := range last + 1 {
			assert.EqualValues(t, 1, done[i], "a gap at row %d", i)
		}
	})
}

func ExampleRows() {
	squares := make([]int, 5)
	Rows(len(squares), func(i int) { squares[i] = i * i })
	fmt.Println(squares)
	// Output: [0 1 4 9 16]
}
