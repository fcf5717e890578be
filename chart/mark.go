package chart

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"io"
)

// markLetters are capitals that are not taken for each other when they are read
// off paper, spoken or written by hand; there are no vowels, so they make no
// words.
const markLetters = "CDFHJKLMRTXY"

// Mark returns six letters that tell charts apart: everything of one kit bears
// the same, and a print of another chart another. Two charts have the same mark
// by chance once in three million. It covers the grid, each cell, and each
// color's number, symbol, code and finish.
func (c *Chart) Mark() string {
	n := binary.BigEndian.Uint64(c.sum())
	var mark [6]byte
	for i := range mark {
		mark[i] = markLetters[n%uint64(len(markLetters))]
		n /= uint64(len(markLetters))
	}
	return string(mark[:])
}

// Sum returns a hash, in hex, of what [Chart.Mark] covers: as good as never the
// same for two charts.
func (c *Chart) Sum() string { return hex.EncodeToString(c.sum()[:16]) }

func (c *Chart) sum() []byte {
	sum := sha256.New()
	number := func(n int) { _ = binary.Write(sum, binary.BigEndian, int64(n)) } // a hash takes everything
	words := func(s string) {
		number(len(s))
		_, _ = io.WriteString(sum, s)
	}
	number(c.Cols)
	number(c.Rows)
	number(len(c.Legend))
	for _, e := range c.Legend {
		number(e.Number)
		number(int(e.Symbol.Rune))
		words(e.Drill.Code)
		words(string(e.Drill.Finish))
	}
	cells := make([]byte, 0, 2*len(c.Cells))
	for _, v := range c.Cells {
		cells = binary.BigEndian.AppendUint16(cells, v)
	}
	_, _ = sum.Write(cells)
	return sum.Sum(nil)
}
