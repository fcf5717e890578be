package main

import (
	"encoding/json"
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// madeOwn is what kit.json says of a kit from owned drills.
type madeOwn struct {
	Order  map[string]string
	Legend []struct {
		Code, Finish string
		Drills       int
	}
	Own struct {
		Within float64
		Bought []struct {
			Code string
			Bags int
		}
		Helps []struct {
			Code   string
			Within float64
		}
	}
}

func readOwn(t *testing.T, dir string) (m madeOwn) {
	t.Helper()
	text, err := os.ReadFile(dir + "/kit.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &m))
	return m
}

// From the stash to a kit: only what is owned in shape, size and finish, the
// same again without the stash, and clear words where it does not suffice.
func TestChartFromTheStash(t *testing.T) {
	checker.Slow(t)
	withStash(t)
	small := []string{"chart", "--demo", "--grid", "40x30", "--card", "seaside", "--own", "--effort", "quick"}
	with := func(more ...string) []string { return append(small[:len(small):len(small)], more...) }

	assert.Contains(t, fails(t, 2, with()...), "your stash has no square drills of 2.5mm of the card seaside")
	does(t, "stash", "add", "--card", "seaside", "--drill", "round", "SR-001=900", "SR-030=900")
	assert.Contains(t, fails(t, 2, with()...), "--drill round: of those you own 2 colors")

	does(t, "stash", "add", "--card", "seaside", "SR-001=400", "SR-055=400", "SR-059=300", "SR-070=500", "SR-062/AB=90")
	does(t, with("-o", "own")...)
	m := readOwn(t, "own")
	owned := map[string]int{"SR-001": 400, "SR-055": 400, "SR-059": 300, "SR-070": 500, "SR-062/AB": 90}
	for _, e := range m.Legend {
		address := strings.TrimSuffix(e.Code+"/"+e.Finish, "/")
		assert.LessOrEqual(t, e.Drills+max(20, (e.Drills+9)/10), owned[address], address)
	}
	assert.Equal(t, "SR-001=400,SR-055=400,SR-059=300,SR-062/AB=90,SR-070=500", m.Order["stock"])
	require.Len(t, m.Own.Helps, 5)
	assert.Less(t, m.Own.Helps[0].Within, m.Own.Within)

	// The best of the five bags is what one bag to buy is, or comes close to it:
	// it need not go on with the colors that were chosen without it.
	out := does(t, with("--buy-bags", "1", "-o", "bag")...)
	assert.Contains(t, out, "To buy: 1 bag of ")
	bag := readOwn(t, "bag")
	require.Len(t, bag.Own.Bought, 1)
	assert.InDelta(t, m.Own.Helps[0].Within, bag.Own.Within, .05*m.Own.Within)

	out = does(t, with("--buy", "2", "-o", "two")...)
	assert.Regexp(t, `To buy: SR-\S+ and SR-\S+; `, out)

	// The kit remembers what was owned.
	does(t, "stash", "count", "--card", "seaside", "SR-055=0")
	does(t, "chart", "--like", "own", "-o", "again")
	assert.Equal(t, m, readOwn(t, "again"))
	does(t, "stash", "undo")

	// The extra of the drill list is the extra that stays.
	does(t, with("--extra-least", "0", "--extra", "0%", "-o", "bare")...)
	assert.Equal(t, "0%,0,300", readOwn(t, "bare").Order["own-extra"])

	assert.Contains(t, fails(t, 2, "chart", "--demo", "--buy", "2"), "--buy says what may be bought beside what you own")
	assert.Contains(t, fails(t, 2, with("--copies", "3")...), "--own counts drills for one picture")
	assert.Contains(t, fails(t, 2, with("--keep", "SR-002")...), "--keep names SR-002, of which you own none")
	assert.Contains(t, fails(t, 2, with("--stock", "SR-201=5")...), `--stock: the card "seaside" has no color "SR-201"`)
}

// Each way out that is named where drills are too few is one.
func TestTooFewAndTheWaysOut(t *testing.T) {
	checker.Slow(t)
	withStash(t)
	does(t, "stash", "add", "--card", "seaside", "SR-001=400", "SR-055=400", "SR-059=300", "SR-070=500", "SR-062=390", "SR-041=350", "SR-100=120", "SR-024=120", "SR-025=130")
	args := []string{"chart", "--demo", "--size", "12x16cm", "--card", "seaside", "--own", "--effort", "quick", "--force", "-o", "own"}
	said := fails(t, 2, append(args, "--colors", "6")...)
	assert.Regexp(t, `what you own suffices for 2,\d\d\d of the 3,072 drills, extra left out: \d+ short`, strings.Join(strings.Fields(said), " "))
	_, try, ok := strings.Cut(strings.Join(strings.Fields(said), " "), "Try: ")
	require.True(t, ok)
	for _, way := range []string{`--size (\S+)(?:;|\.)`, `--buy-bags (\d+)`, `--buy (1)`} {
		m := regexp.MustCompile(way).FindStringSubmatch(try)
		require.NotNil(t, m, "%s in %s", way, try)
		flag, _, _ := strings.Cut(way, " ")
		does(t, append(args, "--colors", "6", flag, m[1])...)
		if n, err := strconv.Atoi(m[1]); err == nil && n > 1 {
			fails(t, 2, append(args, "--colors", "6", flag, strconv.Itoa(n-1))...) // and no more than it takes
		}
	}
	args[3] = "12x12cm"
	for keep, colors := range map[string]int{"": 8, "SR-024,SR-025,SR-100": 9} { // the three smallest lots take places of their own
		args := append(args, "--keep", keep)
		assert.Contains(t, strings.Join(strings.Fields(fails(t, 2, append(args, "--colors", "6")...)), " "), fmt.Sprintf("--colors %d or more", colors))
		does(t, append(args, "--colors", strconv.Itoa(colors))...)
		fails(t, 2, append(args, "--colors", strconv.Itoa(colors-1))...)
	}
}

func TestLadderFromTheStash(t *testing.T) {
	checker.Slow(t)
	withStash(t)
	does(t, "stash", "add", "--card", "seaside", "SR-001=400", "SR-055=400", "SR-059=300", "SR-070=500", "SR-062=390")
	out := does(t, "ladder", "--demo", "--grid", "40x30", "--card", "seaside", "--own", "--counts", "2..5", "--effort", "quick")
	assert.Contains(t, out, "Only what you own, never more drills of a color than there are.")
	assert.Contains(t, out, "With 2 or 3 of these colors there are not enough drills")
	assert.Contains(t, fails(t, 2, "ladder", "--demo", "--card", "seaside", "--own", "--counts", "2,5", "--effort", "quick", "-o", "none"), "short")
}
