package intake

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A header in a language that is not known is passed over and said, however
// short the table is.
func TestUnknownHeaderIsSaid(t *testing.T) {
	for _, text := range []string{
		"Oznaczenie;Odcień;Kolor\n0012;Piana;C86432\n0013;Wydma;#aabbcc\n",
		"色番号,色名,カラーコード\n0012,Piana,#c86432\n0013,Wydma,#aabbcc\n",
		"x;y;r;e;d\n0012;Piana;200;100;50\n0013;Wydma;170;187;204\n",
	} {
		res := read(t, text, Options{})
		assert.Equal(t, []string{"0012|Piana|#c86432", "0013|Wydma|#aabbcc"}, lines(res))
		assert.Empty(t, res.Left)
		assert.Contains(t, strings.Join(res.Notes, "\n"), "line 1 was taken for the columns' names")
	}
}

// Telling one column of a table without header loses no row.
func TestColumnsToldInPartKeepTheFirstRow(t *testing.T) {
	res := read(t, "0012,Foam,#c86432\n0013,Dune,#aabbcc\n", Options{Columns: "code=2"})
	require.Len(t, res.Card.Drills, 2)
	assert.Equal(t, "Foam", res.Card.Drills[0].Code)
}

// Two names with an inch mark do not swallow the rows from one to the other.
func TestInchMarksLoseNoRow(t *testing.T) {
	res := read(t, "code,name,hex\nA1,5\" foam,#c86432\nA2,sand,#d8c3a5\nA3,3\" dune,#aabbcc\n", Options{})
	assert.Equal(t, []string{"A1|5\" foam|#c86432", "A2|sand|#d8c3a5", "A3|3\" dune|#aabbcc"}, lines(res))
	res = read(t, "code,name,hex\nA1,\"unclosed,#c86432\nA2,5\" sand,#d8c3a5\nA3,dune,#aabbcc\n", Options{})
	assert.Equal(t, 3, len(res.Card.Drills)+len(res.Left), "each row kept or named: %v", res.Left)
}

// A decimal comma between commas moves the cells: no color is made of them.
func TestCellsBeyondTheHeader(t *testing.T) {
	res := read(t, "code,L,a,b\nA1,61,5,-3,25,10,0\nA2,50,1,2\nA3,50,1,3,,\n", Options{})
	require.Len(t, res.Card.Drills, 2)
	require.Len(t, res.Left, 1)
	assert.Equal(t, "line 2 (A1): 7 cells under 4 column names: put text that holds the separator in quotes", res.Left[0].String())
	res = read(t, "code,hex\nA1,#c86432,a word more\n", Options{})
	assert.Equal(t, []string{"A1|A1|#c86432"}, lines(res))
}

// What stands in parentheses explains a header, and changes nothing.
func TestParenthesesInHeaders(t *testing.T) {
	res := read(t, "Ref.;Color (English);RGB (0-255)\n0001;sea foam;200, 100, 50\n", Options{})
	assert.Equal(t, []string{"0001|sea foam|#c86432"}, lines(res))
}

// A formula that fails in a spreadsheet gives no code.
func TestSpreadsheetErrorsAreNoCodes(t *testing.T) {
	m := newMaker("mine.xlsx", "a spreadsheet")
	tab := &table{m: m}
	for i, cells := range [][]string{{"Code", "Hex"}, {"#N/A", "#c86432"}, {"0001", "#d8c3a5"}} {
		tab.rows = append(tab.rows, record{line: i + 1, shown: cells, raw: cells})
	}
	res, err := tab.read(Options{})
	require.NoError(t, err)
	assert.Equal(t, []string{"0001|0001|#d8c3a5"}, lines(res))
	require.Len(t, res.Left, 1)
	assert.Equal(t, "line 2 (#N/A): the spreadsheet shows an error where the code should stand", res.Left[0].String())
}

// A measurement whose format is left open is named as what it is.
func TestFormatLeftOpen(t *testing.T) {
	_, err := Read("mine.txt", strings.NewReader("CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nBEGIN_DATA\n1 50 0 0\nEND_DATA\n"), Options{})
	assert.EqualError(t, err, "mine.txt, line 4: the data begins before END_DATA_FORMAT")
}

// A measurement with fewer rows than it says may be cut off: it is said.
func TestFewerRowsThanSaid(t *testing.T) {
	text := "CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n1 50 0 0\n"
	const cut = "the file says 2 rows, and there are 1: it may be cut off"
	assert.Contains(t, read(t, text, Options{}).Notes, cut)
	assert.NotContains(t, read(t, text+"2 60 0 0\nEND_DATA\n", Options{}).Notes, cut)
}
