package stash

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// writerKey names the ledger that this test program, run once more, adds to
// until it is killed, telling each entry.
const writerKey = "KITWRIGHT_TEST_STASH"

func TestMain(m *testing.M) {
	if path := os.Getenv(writerKey); path != "" {
		l, err := Open(path)
		for i := 1; err == nil; i++ {
			if _, err = l.Add(context.Background(), day, Amount{Key: modelKeys[0], Drills: 1}, Amount{Key: modelKeys[1], Drills: 1, Note: os.Args[1]}); err == nil {
				fmt.Println(i)
			}
		}
		fmt.Println(err)
		os.Exit(1)
	}
	os.Exit(m.Run())
}

var killsFlag = flag.Int("kills", 15, "how often TestTwoWritersAreKilled kills each of them")

// Two writers at once, each killed (SIGKILL) at any moment and begun again: what
// they were told stands, and beyond it at most the one entry that each was about.
func TestTwoWritersAreKilled(t *testing.T) {
	kills := *killsFlag
	if testing.Short() {
		kills = 4
	}
	path := filepath.Join(t.TempDir(), Name)
	var mu sync.Mutex
	told, extra := 0, 0
	var all sync.WaitGroup
	for w := range 2 {
		all.Go(func() {
			dice := rand.New(rand.NewPCG(uint64(w), 9))
			for range kills {
				c := exec.Command(os.Args[0], "writer "+strconv.Itoa(w))
				c.Env = append(os.Environ(), writerKey+"="+path)
				out, err := c.StdoutPipe()
				if !assert.NoError(t, err) || !assert.NoError(t, c.Start()) {
					return
				}
				lines := bufio.NewScanner(out)
				n, last := 0, ""
				if lines.Scan() { // it has begun
					n, last = 1, lines.Text()
				}
				time.AfterFunc(time.Duration(dice.IntN(30))*time.Millisecond, func() { _ = c.Process.Kill() })
				for lines.Scan() {
					n, last = n+1, lines.Text()
				}
				_ = c.Wait()
				mu.Lock()
				told, extra = told+n, extra+1
				mu.Unlock()
				assert.Equal(t, strconv.Itoa(n), last)
			}
		})
	}
	all.Wait()
	l, err := Open(path)
	require.NoError(t, err)
	assert.Empty(t, l.Faults())
	a, b := l.Lot(modelKeys[0]).Drills, l.Lot(modelKeys[1]).Drills
	assert.Equal(t, a, b, "an entry stands in part")
	assert.GreaterOrEqual(t, a, told)
	assert.LessOrEqual(t, a, told+extra)
	assert.GreaterOrEqual(t, told, 2*kills)
	t.Logf("%d kills, %d entries told, %d stand", extra, told, a)
}

func TestWritersTakeTurns(t *testing.T) {
	path := filepath.Join(t.TempDir(), Name)
	first, err := Open(path)
	require.NoError(t, err)
	_, err = first.Add(context.Background(), day, Amount{Key: modelKeys[0], Drills: 110}, Amount{Key: modelKeys[1], Drills: 500})
	require.NoError(t, err)
	var all sync.WaitGroup
	var mu sync.Mutex
	took, refused := 0, 0
	for range 4 {
		all.Go(func() {
			l, err := Open(path)
			assert.NoError(t, err)
			_, err = l.Take(context.Background(), day, modelKits[0], How{})
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				took++
			} else if assert.ErrorContains(t, err, "was taken on") {
				refused++
			}
		})
	}
	all.Wait()
	assert.Equal(t, []int{1, 3}, []int{took, refused}, "one kit is taken once")

	unlock, err := system{}.lock(context.Background(), lockOf(path))
	require.NoError(t, err)
	defer unlock()
	ctx, stop := context.WithTimeout(context.Background(), 20*time.Millisecond)
	defer stop()
	_, err = first.Add(ctx, day, Amount{Key: modelKeys[0], Drills: 1})
	assert.ErrorIs(t, err, context.DeadlineExceeded, "a run that waits can be stopped")
}

// BenchmarkRead reads 100,000 lines: what stash list does before it prints.
func BenchmarkRead(b *testing.B) {
	data := []byte(header + "\n")
	for i := range 100_000 {
		k := sq(fmt.Sprintf("SR-%03d", i%450))
		x := Line{Entry: i + 1, Part: 1, Parts: 1, Date: day, Act: Added, Key: k, Drills: 200, Counted: -1}
		switch i % 4 {
		case 1:
			x.Act, x.Drills, x.Kit, x.Chart, x.Note = Taken, -150, "CDFHJK", strings.Repeat("0f", 16), "ginger"
		case 2:
			x.Act, x.Drills, x.Counted = Counted, -3, 47
		case 3:
			x.Place, x.Note = "box 3", "from the shop at the pier"
		}
		data = x.append(data)
	}
	path := filepath.Join(b.TempDir(), Name)
	require.NoError(b, os.WriteFile(path, data, 0o644))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		l, err := Open(path)
		if err != nil || len(l.Lots()) != 450 || len(l.Faults()) > 0 {
			b.Fatal(err)
		}
	}
}
