package main

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/kit"
)

// What she changed in a table becomes edits, or is refused with its place.
func TestChangedTablesAreTaken(t *testing.T) {
	madeKit(t)
	k := kitOf(t, "cat-kit")
	chart := string(read(t, "cat-kit/chart.csv"))
	rows := strings.Split(strings.TrimSpace(chart), "\n")
	first, _, _ := strings.Cut(rows[0], ",")
	other := "1"
	if first == other {
		other = "2"
	}
	write := func(text string) string {
		t.Helper()
		require.NoError(t, os.WriteFile("changed.csv", []byte(text), 0o666))
		return "changed.csv"
	}
	edits := func(text string) ([]kit.Edit, error) {
		t.Helper()
		return editsOfTable(write(text), k, nil)
	}
	address := func(number string) string {
		for _, e := range k.Chart.Legend {
			if strconv.Itoa(e.Number) == number {
				return e.Drill.Address()
			}
		}
		t.Fatal("no color has the number ", number)
		return ""
	}
	changed := func(to map[string]string) string { // the chart with other numbers
		var b strings.Builder
		for _, row := range rows {
			cells := strings.Split(row, ",")
			for i, c := range cells {
				if is, ok := to[c]; ok {
					cells[i] = is
				}
			}
			b.WriteString(strings.Join(cells, ",") + "\n")
		}
		return b.String()
	}

	// One drill, by number or by code, and in a spreadsheet's own separator.
	for _, as := range []string{other, address(other)} {
		got, err := edits(strings.ReplaceAll(as+strings.TrimPrefix(chart, first), ",", ";"))
		require.NoError(t, err)
		require.Len(t, got, 1)
		assert.Equal(t, "set 1,1="+address(other), got[0].String())
	}

	// All drills of a color: it keeps its number.
	got, err := edits(changed(map[string]string{first: other}))
	require.NoError(t, err)
	require.Len(t, got, 1)
	assert.Equal(t, "swap "+address(first)+"="+address(other), got[0].String())

	// Two colors that change places are set drill by drill, in boxes.
	got, err = edits(changed(map[string]string{first: other, other: first}))
	require.NoError(t, err)
	after, err := k.Edit(got...)
	require.NoError(t, err)
	for i, v := range k.Chart.Cells {
		was, is := k.Chart.Legend[v].Drill.Address(), after.Chart.Legend[after.Chart.Cells[i]].Drill.Address()
		switch was {
		case address(first):
			require.Equal(t, address(other), is)
		case address(other):
			require.Equal(t, address(first), is)
		default:
			require.Equal(t, was, is)
		}
	}
	assert.True(t, got[len(got)-1].With, "one undo takes all of it back")

	list := string(read(t, "cat-kit/kit.csv"))
	for _, c := range []struct{ text, want string }{
		{chart, "nothing was changed"},
		{strings.Join(rows[1:], "\n"), "39 rows, and the picture 40 rows"},
		{rows[0] + ",1\n" + strings.Join(rows[1:], "\n"), "line 1 has 61 cells"},
		{"SR-999" + strings.TrimPrefix(chart, first), "line 1, column 1: "},
		{strings.TrimPrefix(chart, first), "line 1, column 1 is empty"},
		{list, "nothing was changed"},
		{strings.Replace(list, ",20,", ",21,", 1), "extra was \"20\" and is \"21\", but follows from the chart"},
		{strings.Replace(list, "\n2,", "\n99,", 1), "no color with the number \"99\""},
	} {
		_, err := edits(c.text)
		assert.ErrorContains(t, err, c.want)
	}

	// The whole way: her table lies in the kit, and stays until it is taken.
	text := strings.Replace(list, ","+k.Chart.Legend[0].Drill.Code+",", ",5R 4/14,", 1)
	require.NoError(t, os.WriteFile("cat-kit/kit.csv", []byte(text), 0o666))
	code, _, errs := kitwright(t, "edit", "--swap", address(first)+"=5G 5/6", "cat-kit")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "kitwright edit --from-csv takes")
	code, _, errs = kitwright(t, "print", "cat-kit", "--from-csv", "cat-kit/kit.csv", "-q")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, string(read(t, "cat-kit-print/edits.csv")), "5R 4/14")
	code, out, errs := kitwright(t, "edit", "--from-csv", "cat-kit/kit.csv", "cat-kit")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, "swap "+k.Chart.Legend[0].Drill.Address()+"=5R 4/14\n")
	assert.Equal(t, string(read(t, "cat-kit-print/chart.csv")), string(read(t, "cat-kit/chart.csv")))
}
