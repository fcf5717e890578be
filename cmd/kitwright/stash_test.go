package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"kitwright/internal/checker"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/stash"
)

// withStash makes an empty folder with a home of its own in which the card
// seaside is kept.
func withStash(t *testing.T) (card string) {
	t.Helper()
	_, path := seasideCard(t)
	dir := inTemp(t)
	t.Setenv("HOME", dir)
	t.Setenv("XDG_DATA_HOME", filepath.Join(dir, "home"))
	t.Setenv("LOCALAPPDATA", filepath.Join(dir, "home"))
	does(t, "card", "add", "seaside", path)
	return path
}

// does runs a command that has to succeed.
func does(t *testing.T, args ...string) string {
	t.Helper()
	code, out, errs := kitwright(t, args...)
	require.Equal(t, 0, code, "%v\n%s", args, errs)
	return out
}

// fails runs a command that has to fail with such an exit code.
func fails(t *testing.T, want int, args ...string) string {
	t.Helper()
	code, _, errs := kitwright(t, args...)
	require.Equal(t, want, code, "%v\n%s", args, errs)
	assert.Regexp(t, `(?m)^kitwright: .*\.$`, errs)
	return errs
}

// owns is what the stash holds, by address.
func owns(t *testing.T) map[string]int {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(does(t, "stash", "export"))).ReadAll()
	require.NoError(t, err)
	have := map[string]int{}
	for _, r := range rows[1:] {
		n, err := strconv.Atoi(r[2])
		require.NoError(t, err)
		key := r[0]
		if r[1] != "" {
			key += "/" + r[1]
		}
		have[key] += n
	}
	return have
}

// smallKit makes a kit of few drills and returns what it needs, by address.
func smallKit(t *testing.T, dir string, more ...string) map[string]int {
	t.Helper()
	does(t, append([]string{"chart", "--demo", "--card", "seaside", "--grid", "40x30", "--colors", "6", "--quiet", "-o", dir}, more...)...)
	rows, err := csv.NewReader(bytes.NewReader(read(t, dir+"/kit.csv"))).ReadAll()
	require.NoError(t, err)
	need := map[string]int{}
	col := map[string]int{}
	for i, h := range rows[0] {
		col[h] = i
	}
	for _, r := range rows[1:] {
		if r[0] == "total" {
			continue
		}
		n, err := strconv.Atoi(r[col["drills"]])
		require.NoError(t, err)
		key := r[col["code"]]
		if f := r[col["finish"]]; f != "" {
			key += "/" + f
		}
		need[key] = n
	}
	return need
}

func TestStashRoad(t *testing.T) {
	withStash(t)
	assert.Contains(t, does(t, "stash", "list"), "Your stash is empty")
	assert.Contains(t, fails(t, 2, "stash", "add", "SR-041=200"), "which card")
	out := does(t, "stash", "add", "--card", "seaside", "--place", "box 3", "SR-041=1,200", "SR-062/AB=35")
	assert.Contains(t, out, "seaside SR-062/AB (square, 2.5mm)  +35, 35 now")
	does(t, "stash", "add", "--drill", "round", "SR-041=300")
	assert.Contains(t, does(t, "stash", "list", "SR-041"), "1,500 drills in 2 lots")
	assert.Contains(t, does(t, "stash", "list", "--drill", "round"), "300 drills in 1 lot")
	assert.Contains(t, does(t, "stash", "count", "SR-041=1163"), "-37, 1,163 now")
	assert.Contains(t, does(t, "stash", "history", "sr-041"), "-37")
	assert.Contains(t, does(t, "stash", "undo"), "Undone: entry 3, count")
	assert.Contains(t, does(t, "stash", "count", "--weighed", "500=4.20g", "SR-041=3.37g"), "SR-041 weighs as 401 drills, give or take 2\n")
	assert.Contains(t, does(t, "stash", "history", "SR-041"), "count (weighed 3.37g of 500=4.20g)")
	assert.Contains(t, fails(t, 2, "stash", "add", "SR-041=3.37g"), "it was not said what the drills weigh")
	does(t, "stash", "undo")
	assert.Contains(t, does(t, "stash", "history"), "count, undone")
	assert.Equal(t, map[string]int{"SR-041": 1500, "SR-062/AB": 35}, owns(t))

	for args, want := range map[string]string{
		"add SR-O41=5":                 "SR-041 is on it",
		"add SR-041=-5":                "cannot be -5 drills",
		"add SR-041=many":              "is not a number of drills",
		"add SR-041=1,5":               "is not a number of drills",
		"add SR-041=999999999":         "cannot be 999999999 drills",
		"add SR-041":                   "is not of the form CODE=DRILLS",
		"add":                          "needs a code",
		"count SR-041=1 SR-041=2":      "said twice",
		"count SR-041/neon=1":          "has no color",
		"add --drill oval SR-041=1":    "square or round",
		"add --date 1.1.2026 SR-041=1": "is no day",
		"history SR-999":               "never had",
		"take nowhere":                 "cannot be opened",
		"lost":                         "Try: kitwright stash list",
		"undo twice":                   "takes no arguments",
		"add --place a\x07b SR-041=1":  "cannot be printed",
		"add --card harbor SR-041=1":   "no card called",
		"list --stash home":            "no file",
	} {
		parts := strings.Fields(args)
		errs := fails(t, map[bool]int{true: 1, false: 2}[strings.Contains(args, "nowhere") || strings.Contains(args, "--stash") || strings.Contains(args, "--place")], append([]string{"stash"}, parts...)...)
		assert.Contains(t, errs, want, args)
	}
	assert.Equal(t, map[string]int{"SR-041": 1500, "SR-062/AB": 35}, owns(t), "a refusal changes nothing")
}

func TestStashTakesAndReturns(t *testing.T) {
	checker.Slow(t)
	withStash(t)
	need := smallKit(t, "cat-kit")
	var add []string
	short := ""
	for _, code := range sortedNames(need) {
		n := need[code] + 100
		if short == "" {
			short, n = code, need[code]-1
		}
		add = append(add, fmt.Sprintf("%s=%d", code, n))
	}
	does(t, append([]string{"stash", "add", "--card", "seaside"}, add...)...)
	before := owns(t)
	assert.Contains(t, fails(t, 1, "stash", "take", "cat-kit"), "1 color falls short, so nothing was taken for cat-kit: 1 of "+short)
	assert.Equal(t, before, owns(t))
	does(t, "stash", "add", "--drill", "round", short+"=50")
	assert.Contains(t, fails(t, 1, "stash", "take", "cat-kit"), "which never counts as "+short+" (square, 2.5mm)")
	does(t, "stash", "undo")

	assert.Contains(t, does(t, "stash", "take", "--partly", "cat-kit"), "1 still to be had")
	assert.Contains(t, does(t, "stash", "return", "cat-kit"), "The stash never had all that the picture took of "+short+": what is left of bags bought")
	does(t, "stash", "undo")
	after := owns(t)
	assert.Zero(t, after[short])
	for code, n := range need {
		if code != short {
			extra := min(max((n+9)/10, 20), 300)
			assert.Equal(t, 100-extra, after[code], code)
		}
	}
	assert.Contains(t, fails(t, 1, "stash", "take", "cat-kit"), "already")
	does(t, "stash", "add", short+"=15")
	does(t, "stash", "take", "--rest", "cat-kit")
	assert.Zero(t, owns(t)[short], "one to place, the rest as extra")

	// A kit that was changed after it was taken is noticed.
	var other string
	for code := range need {
		if code != short {
			other = code
		}
	}
	does(t, "edit", "cat-kit", "--set", "1,1:10,3="+short)
	assert.Contains(t, fails(t, 1, "stash", "take", "cat-kit"), "was changed after that")
	assert.Contains(t, fails(t, 1, "stash", "take", "--rest", "cat-kit"), " of "+short)
	does(t, "edit", "cat-kit", "--undo")
	assert.Contains(t, fails(t, 1, "stash", "take", "cat-kit"), "already", "undone, it is the same kit")

	out := does(t, "stash", "return", "cat-kit", "--left", other+"=7")
	assert.Contains(t, out, "+7")
	assert.NotContains(t, out, "bags bought", "all of it came out of the stash")
	assert.Contains(t, fails(t, 1, "stash", "return", "cat-kit"), "came back")
	does(t, "stash", "undo")
	does(t, "stash", "return", "cat-kit")
	for code, n := range owns(t) {
		if code != short {
			assert.Equal(t, 100, n, "what was not placed is back: %s", code)
		}
	}
	does(t, "stash", "undo")
	does(t, "stash", "return", "--all", "cat-kit")
	back := owns(t)
	back[short] -= 15
	assert.Equal(t, before, back)
	assert.Contains(t, fails(t, 2, "stash", "return", "cat-kit"), "was not taken out of this stash")
}

func TestStashKeepsCardsApart(t *testing.T) {
	path := withStash(t)
	for code := range smallKit(t, "file-kit", "--card", path) {
		does(t, "stash", "add", "--card", "seaside", code+"=500")
	}
	errs := fails(t, 1, "stash", "take", "file-kit")
	assert.Contains(t, errs, "no drills of the kit's card seaside-drills.csv, but 6 of its codes under the card seaside")
	does(t, "stash", "take", "--card", "seaside", "file-kit")
	assert.Contains(t, fails(t, 2, "stash", "take", "--card", "harbor", "file-kit"), "it has drills of seaside")
}

func TestStashReadsTables(t *testing.T) {
	withStash(t)
	for name, text := range map[string]string{
		"german.csv":   "Farbnummer;Menge\nSR-001;1.200\n",
		"headless.csv": "1,foam,SR-003,50\n2,kelp,SR-004,60\n",
		"twice.csv":    "code,drills,place\nSR-001,50,tin\nSR-001,7,jar\nSR-002,0,\n",
		"bad.csv":      "code,drills,shape\nSR-001,50,\nSR-0O2,10,\n,30,\nSR-003,,\nSR-004,-3,\nSR-005,5,oval\nTotal,98,\n",
		"own.csv":      "code,finish,drills,card,shape,size\nSR-062,AB,5,seaside,round,2.8mm\nSR-001,,6,seaside,square,2mm\n",
		"none.csv":     "hello\nworld\n",
	} {
		require.NoError(t, os.WriteFile(name, []byte(text), 0o644))
	}
	assert.Contains(t, fails(t, 2, "stash", "import", "twice.csv"), "which card")
	assert.Contains(t, fails(t, 1, "stash", "import", "none.csv", "--card", "seaside"), "it is not clear which columns")
	code, out, errs := kitwright(t, "stash", "import", "--card", "seaside", "twice.csv")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "twice.csv: 3 rows in 2 lots; 57 drills more than before")
	assert.Contains(t, errs, "twice.csv, lines 2 and 3: SR-001 stands there twice; the two were added together")
	assert.Contains(t, does(t, "stash", "list"), "tin")
	assert.Contains(t, fails(t, 1, "stash", "import", "twice.csv"), "was imported on")
	assert.Equal(t, map[string]int{"SR-001": 57}, owns(t))
	does(t, "stash", "import", "--again", "twice.csv")
	does(t, "stash", "import", "--count", "twice.csv")
	assert.Equal(t, map[string]int{"SR-001": 57}, owns(t))

	errs = fails(t, 1, "stash", "import", "bad.csv")
	for _, want := range []string{
		`line 3: the card seaside has no color "SR-0O2"; SR-002 is on it`, "line 4: 30 drills without a code; was a merged cell above it?",
		"line 5: no number of drills; was a merged cell above it?", "line 6: there cannot be -3 drills", `line 7: the shape "oval" is neither`,
		`line 8: the card seaside has no color "Total"`, "6 rows of bad.csv cannot be taken, so nothing was",
	} {
		assert.Contains(t, errs, want)
	}
	assert.Equal(t, map[string]int{"SR-001": 57}, owns(t))
	assert.Contains(t, does(t, "stash", "import", "--partly", "bad.csv"), "50 drills more")
	does(t, "stash", "undo")

	_, _, errs = kitwright(t, "stash", "import", "headless.csv")
	assert.Contains(t, errs, "the columns were guessed: code = column 3, drills = column 4; --columns says it otherwise")
	does(t, "stash", "import", "--columns", "code=3,drills=4", "--again", "headless.csv")
	assert.Equal(t, map[string]int{"SR-001": 57, "SR-003": 100, "SR-004": 120}, owns(t))
	does(t, "stash", "import", "own.csv")
	out = does(t, "stash", "export")
	assert.Contains(t, out, "SR-062,AB,5,seaside,round,2.8mm,,own.csv\n")
	assert.Contains(t, out, "SR-001,,6,seaside,square,2mm,,own.csv\n")
	does(t, "stash", "export", "-o", "all.csv")
	assert.Contains(t, fails(t, 1, "stash", "export", "-o", "all.csv"), "exists already")
	assert.Contains(t, fails(t, 1, "stash", "export", "-o", "bad.csv", "--force"), "bad.csv")
	does(t, "stash", "import", "--stash", "other.csv", "all.csv")
	assert.Equal(t, out, does(t, "stash", "export", "--stash", "other.csv"), "what was exported reads back")
	assert.Contains(t, fails(t, 1, "stash", "list", "--stash", "all.csv"), "all.csv is no stash")

	book := excelize.NewFile()
	for cell, v := range map[string]any{"A1": "My drills", "A3": "Color", "B3": "Qty", "A4": "SR-010", "B4": 12, "B5": 13, "A6": "SR-011", "B6": 1400} {
		require.NoError(t, book.SetCellValue("Sheet1", cell, v))
	}
	require.NoError(t, book.MergeCell("Sheet1", "A4", "A5"))
	require.NoError(t, book.SaveAs("shelf.xlsx"))
	assert.Contains(t, fails(t, 1, "stash", "import", "shelf.xlsx"), "line 5: 13 drills without a code; was a merged cell above it?")
	assert.Contains(t, does(t, "stash", "import", "--partly", "shelf.xlsx"), "1,412 drills more")
}

func TestStashRepairAsks(t *testing.T) {
	withStash(t)
	does(t, "stash", "add", "--card", "seaside", "SR-001=100")
	does(t, "stash", "add", "SR-002=200")
	does(t, "stash", "add", "SR-003=300")
	path := filepath.Join("home", "kitwright", "stash.csv")
	text := string(read(t, path))
	broken := strings.Replace(strings.Replace(text, ",100,", ",150,", 1), "SR-003", "SR-0,03", 1)
	require.NoError(t, os.WriteFile(path, []byte(broken), 0o644))
	_, out, errs := kitwright(t, "stash", "list")
	assert.Contains(t, errs, "line 2: it is not as it was written")
	assert.Contains(t, errs, "What is broken does not count until kitwright stash repair has asked about it.")
	assert.Contains(t, out, "200 drills in 1 lot")
	assert.Contains(t, fails(t, 1, "stash", "undo"), "has to wait")

	answer := func(text string, args ...string) (int, string, string) {
		var out, errs bytes.Buffer
		err := run(context.Background(), append([]string{"stash", "repair"}, args...), strings.NewReader(text), &out, &errs)
		return report(err, &errs), out.String(), errs.String()
	}
	code, out, errs := answer("y\n")
	assert.Equal(t, 1, code)
	assert.Contains(t, out, "As it reads now it says: add 150 of seaside SR-001 (square, 2.5mm)")
	assert.Contains(t, errs, "not every broken line was answered for, so nothing was changed")
	code, _, errs = answer("y\nq\n")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "nothing was changed")
	assert.Contains(t, fails(t, 2, "stash", "repair", "--keep", "3"), "line 3 is not broken")
	assert.Contains(t, fails(t, 2, "stash", "repair", "--keep", "4"), "cannot count")
	code, out, errs = answer("\nmaybe\ny\n", "--leave", "4")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "1 line counted as it reads now, 1 left out. Nothing was deleted.")
	assert.Contains(t, out, "seaside SR-001 (square, 2.5mm): 150")
	assert.Equal(t, map[string]int{"SR-001": 150, "SR-002": 200}, owns(t))
	assert.Contains(t, does(t, "stash", "repair"), "Nothing is broken")
	assert.True(t, strings.HasPrefix(string(read(t, path)), broken), "nothing is deleted")
}

func sortedNames(m map[string]int) (names []string) {
	for n := range m {
		names = append(names, n)
	}
	slices.Sort(names)
	return names
}

func TestCardFrameOfTheStash(t *testing.T) {
	withStash(t)
	assert.Contains(t, fails(t, 1, "card", "frame", "--stash"), "no color of which 9 drills are owned")
	does(t, "stash", "add", "--card", "seaside", "SR-041=200", "SR-062/AB=9", "SR-007=8", "SR-009=0")
	code, out, errs := kitwright(t, "card", "frame", "--stash", "-o", "mine.pdf")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, errs, "Left out, as 9 drills fill a cell: SR-007\n")
	assert.Contains(t, out, "mine.pdf  1 page for 2 codes")
	assert.Contains(t, out, "kitwright card measure --frame --file mine.codes.txt page1.jpg -o measured.csv")
	codes, err := readCodes("mine.codes.txt")
	require.NoError(t, err)
	assert.Equal(t, []string{"SR-041", "SR-062/AB"}, codes)
	require.NoError(t, os.Remove("mine.pdf"))
	assert.Contains(t, fails(t, 1, "card", "frame", "--stash", "-o", "mine.pdf"), "mine.codes.txt exists already")
	assert.NoFileExists(t, "mine.pdf", "both or neither")
	does(t, "stash", "add", "--stash", "other.csv", "--card", "munsell", "N 1=50")
	assert.Contains(t, does(t, "card", "frame", "--stash=other.csv", "--codes", "N 1", "-o", "other.pdf"), "1 code;")
	does(t, "stash", "add", "--card", "munsell", "N 1=50")
	assert.Contains(t, fails(t, 2, "card", "frame", "--stash"), "name one of munsell, seaside with --card")
}

func TestStandInsAreSwapped(t *testing.T) {
	checker.Slow(t)
	withStash(t)
	need := smallKit(t, "cat-kit")
	codes := sortedNames(need)
	for _, code := range codes[1:] {
		does(t, "stash", "add", "--card", "seaside", fmt.Sprintf("%s=%d", code, need[code]+50))
	}
	assert.Contains(t, does(t, "stash", "stand-ins", "cat-kit"), "5 enough, 1 short; 0 with a stand-in, 1 to buy.\nNo owned color fits in place of the rest. Buy "+say.Number(need[codes[0]])+" of "+codes[0])
	assert.Contains(t, does(t, "stash", "stand-ins", "--apply", "cat-kit"), "There is nothing to swap.")

	// Every other color of the card is owned: the nearest that looks like none of
	// the picture is taken.
	name := "seaside"
	card, err := cardPlaces{}.open(env{}, &name)
	require.NoError(t, err)
	var add []string
	var was palettes.Drill
	var others []palettes.Drill
	for _, d := range card.Drills {
		switch _, used := need[d.Address()]; {
		case d.Address() == codes[0]:
			was = d
		case used:
			others = append(others, d)
		case d.Finish == "":
			add = append(add, fmt.Sprintf("%s=%d", d.Address(), need[codes[0]]))
		}
	}
	does(t, append([]string{"stash", "add", "--drill", "round"}, add...)...)
	assert.Contains(t, does(t, "stash", "stand-ins", "cat-kit"), "0 with a stand-in", "round ones do not count")
	does(t, append([]string{"stash", "add"}, add...)...)
	var rows []struct {
		Code       string
		StandIn    string `json:"stand-in"`
		Verdict    string
		Has        *int
		Difference *float64
	}
	require.NoError(t, json.Unmarshal([]byte(does(t, "stash", "stand-ins", "--json", "cat-kit")), &rows))
	standIn := ""
	for _, r := range rows {
		if r.Code == codes[0] {
			require.Equal(t, "short", r.Verdict)
			standIn = r.StandIn
			require.NotNil(t, r.Has)
			i, ok := card.Index(r.StandIn)
			require.True(t, ok)
			assert.InDelta(t, lab.DeltaE(was.Lab, card.Drills[i].Lab), *r.Difference, 0.001)
			best := math.Inf(1)
			for _, d := range card.Drills {
				if _, used := need[d.Address()]; used || d.Finish != "" {
					continue
				}
				near := math.Inf(1)
				for _, o := range others {
					near = min(near, lab.DeltaE(d.Lab, o.Lab))
				}
				if near >= 4 {
					best = min(best, lab.DeltaE(d.Lab, was.Lab))
				}
			}
			assert.InDelta(t, best, *r.Difference, 0.001, "the nearest of those that look like none of the picture")
		} else {
			assert.Equal(t, "enough", r.Verdict)
		}
	}
	assert.Contains(t, fails(t, 1, "stash", "take", "cat-kit"), codes[0])
	assert.Contains(t, does(t, "stash", "stand-ins", "--apply", "-q", "cat-kit"), "1 with a stand-in, 0 to buy.")
	assert.Contains(t, does(t, "edit", "--list", "cat-kit"), "swap "+codes[0]+"="+standIn)
	does(t, "stash", "take", "cat-kit")
	does(t, "stash", "undo")

	// A boxed kit, typed in.
	list := "Color no.;Qty\n" + codes[0] + ";10\n" + codes[1] + ";25\n" + codes[1] + ";5\n"
	require.NoError(t, os.WriteFile("boxed.csv", []byte(list), 0o644))
	out := does(t, "stash", "stand-ins", "boxed.csv")
	assert.Contains(t, out, "boxed.csv: 1 enough, 1 short; 1 with a stand-in, 0 to buy.")
	assert.Contains(t, fails(t, 2, "stash", "stand-ins", "--apply", "boxed.csv"), "boxed.csv is none")
	require.NoError(t, os.WriteFile("boxed.csv", []byte(list+"SR-0O7;4\n"), 0o644))
	errs := fails(t, 1, "stash", "stand-ins", "boxed.csv")
	assert.Contains(t, errs, "boxed.csv, line 5: the card seaside has no color \"SR-0O7\"; SR-007 is on it")
	fails(t, 2, "stash", "stand-ins", "--apart", "-1", "cat-kit")
	assert.Contains(t, fails(t, 2, "stash", "stand-ins", "--within", "31", "cat-kit"), "--within takes up to 30")
}

// BenchmarkStashList lists a stash of 100,000 lines, as a person asks for it.
func BenchmarkStashList(b *testing.B) {
	home := b.TempDir()
	text, err := os.ReadFile(filepath.Join("..", "..", filepath.FromSlash(seaside)))
	require.NoError(b, err)
	require.NoError(b, os.WriteFile(filepath.Join(home, "supplier.csv"), text, 0o644))
	require.NoError(b, run(context.Background(), []string{"card", "add", "seaside", filepath.Join(home, "supplier.csv"), "--home", home}, nil, io.Discard, io.Discard))
	l, err := stash.Open(stashPlace{}.path(cardPlaces{home: home}))
	require.NoError(b, err)
	var what []stash.Amount
	for i := range 100_000 {
		k := stash.Key{Card: "seaside", Code: fmt.Sprintf("SR-%03d", 1+i%200), Shape: "square", Size: 2500 * measure.Micrometer}
		if i%3 == 0 {
			k.Shape, k.Size = "round", 2800*measure.Micrometer
		}
		what = append(what, stash.Amount{Key: k, Drills: 200, Place: fmt.Sprintf("box %d", i%30)})
	}
	_, err = l.Add(context.Background(), "2026-11-26", what...)
	require.NoError(b, err)
	for b.Loop() {
		var out bytes.Buffer
		require.NoError(b, run(context.Background(), []string{"stash", "list", "--home", home}, nil, &out, io.Discard))
		require.Contains(b, out.String(), "20,000,000 drills in 400 lots")
	}
}

// A column that nothing is taken from is named, since a size or a shape may
// stand there under another word; rows that are refused do not count.
func TestImportNamesWhatItLeavesOut(t *testing.T) {
	withStash(t)
	require.NoError(t, os.WriteFile("odd.csv", []byte("code,count,Form,empty\nSR-041,200,rund,\n"), 0o666))
	code, out, errs := kitwright(t, "stash", "import", "--card", "seaside", "odd.csv")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, errs, `nothing is taken from "Form"; --columns says`)
	assert.Contains(t, out, "1 row in 1 lot; 200 drills more")
	require.NoError(t, os.WriteFile("half.csv", []byte("code,count\nSR-041,5\nSR-999,5\nSR-998,5\n"), 0o666))
	code, out, errs = kitwright(t, "stash", "import", "--partly", "--card", "seaside", "half.csv")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "1 row in 1 lot; 5 drills more")
}

// No more is left over of a kit than was taken for it.
func TestNoLeftoversFromNowhere(t *testing.T) {
	withStash(t)
	does(t, "stash", "add", "--card", "seaside", "SR-041=3000", "SR-062=3000", "SR-070=3000")
	does(t, "chart", "--demo", "--grid", "40x30", "--card", "seaside", "--own", "--colors", "3", "--effort", "quick", "-o", "kit")
	does(t, "stash", "take", "kit")
	assert.Contains(t, fails(t, 2, "stash", "return", "--left", "SR-041=100000", "kit"), "cannot be left over of the")
	does(t, "stash", "return", "--left", "SR-041=1", "kit")
}

// A kit printed for three copies takes the drills of three.
func TestTakeCountsCopies(t *testing.T) {
	withStash(t)
	need := smallKit(t, "cat-kit")
	var add []string
	for _, code := range sortedNames(need) {
		add = append(add, fmt.Sprintf("%s=%d", code, 3*need[code]+2000))
	}
	does(t, append([]string{"stash", "add", "--card", "seaside"}, add...)...)
	does(t, "print", "--copies", "3", "--only", "kit", "--out", "class-kit", "cat-kit")
	does(t, "stash", "take", "class-kit")
	for code, n := range need {
		extra := min(max((n+9)/10, 20), 300)
		assert.Equal(t, 2000-3*extra, owns(t)[code], code)
	}
	does(t, "stash", "return", "class-kit")
	for code := range need {
		assert.Equal(t, 2000, owns(t)[code], code)
	}
}

// A lot has one place and one note: where another takes its place, that is told.
func TestPlaceReplacedIsTold(t *testing.T) {
	withStash(t)
	assert.NotContains(t, does(t, "stash", "add", "--card", "seaside", "--place", "tin 2", "SR-041=200"), "is now")
	assert.NotContains(t, does(t, "stash", "add", "SR-041=20"), "is now", "none was given")
	assert.NotContains(t, does(t, "stash", "add", "--place", "tin 2", "SR-041=20"), "is now", "the same")
	assert.Contains(t, does(t, "stash", "add", "--place", "box 3", "SR-041=20"), `The place of all of SR-041 is now "box 3"; it was "tin 2".`)
}
