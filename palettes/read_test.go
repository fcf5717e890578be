package palettes

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/say"
	"kitwright/lab"
)

const sand = "SR-041,dune sand,,#d8c3a5,79.9,4.2,17.1\n"

// What Read takes, and the colors it should find, one "code|name|finish|hex"
// each.
var readable = []struct {
	name, text string
	want       []string
}{
	{"as it is written", "code,name,finish,hex,L,a,b\n" + sand, []string{"SR-041|dune sand||#dac2a7"}},
	{"no line feed at the end", "code,name,finish,hex,L,a,b\nSR-1,foam,AB,#ffffff,100,0,0", []string{"SR-1|foam|AB|#ffffff"}},
	{"byte order mark and CRLF", "\ufeffcode,hex\r\nSR-1,#c86432\r\n", []string{"SR-1|SR-1||#c86432"}},
	{"old Macintosh lines", "code,hex\rSR-1,#c86432\r", []string{"SR-1|SR-1||#c86432"}},
	{"hex alone, with and without #, short, capitals", "code,hex\nA1,#C86432\nA2,c86432\nA3,#fa0\n",
		[]string{"A1|A1||#c86432", "A2|A2||#c86432", "A3|A3||#ffaa00"}},
	{"Lab alone", "code,L,a,b\nA1,53.2408,80.0925,67.2032\n", []string{"A1|A1||#ff0000"}},
	{"Lab goes before hex", "code,hex,L,a,b\nA1,#808080,50,0,0\nA2,#777777,,,\n", []string{"A1|A1||#777777", "A2|A2||#777777"}},
	{"any order, capitals, stars, strange columns", "B*,A*,L*,Stock,Name,CODE\n0,0,50,7,gray,A1\n", []string{"A1|gray||#777777"}},
	{"number for code", "number,name,hex\n7,pale pink,#ffc0cb\n", []string{"7|pale pink||#ffc0cb"}},
	{"name for code", "name,hex\npale pink,#ffc0cb\n", []string{"pale pink|pale pink||#ffc0cb"}},
	{"remarks and empty lines", "# my own\n\ncode,hex\n# blues\n , \nA1,#0000ff\n\n", []string{"A1|A1||#0000ff"}},
	{"hex first is not a remark", "hex,code\n# reds\n#ff0000,A1\n#f00,A2\n", []string{"A1|A1||#ff0000", "A2|A2||#ff0000"}},
	{"quotes", "code,name,hex\n\"A,1\",\"the \"\"red\"\" one\",#ff0000\n\"#2\",x,#ff0000\n",
		[]string{`A,1|the "red" one||#ff0000`, "#2|x||#ff0000"}},
	{"spaces around", " code , name , hex \n A1 , sea green , #2e8b57 \n", []string{"A1|sea green||#2e8b57"}},
	{"semicolons and decimal commas", "code;name;L;a;b\nA1;gray;50,0344;0;-0,0\n", []string{"A1|gray||#777777"}},
	{"tabs", "code\thex\nA1\t#777777\n", []string{"A1|A1||#777777"}},
	{"short and long lines", "code,hex,finish,name\nA1,#777777\nA2,#777777,,,,\n", []string{"A1|A1||#777777", "A2|A2||#777777"}},
	{"one color under two codes", "code,hex\nA1,#777777\nA2,#777777\n", []string{"A1|A1||#777777", "A2|A2||#777777"}},
	{"out of sRGB", "code,L,a,b\nA1,50,120,0\n", []string{"A1|A1||#ff007c beyond"}},
	{"other scripts", "code,name,hex\nÄ-1,блакитний,#0057b7\n", []string{"Ä-1|блакитний||#0057b7"}},
}

func TestRead(t *testing.T) {
	for _, c := range readable {
		t.Run(c.name, func(t *testing.T) {
			card, err := Read("mine.csv", strings.NewReader(c.text))
			require.NoError(t, err)
			var got []string
			for _, d := range card.Drills {
				line := fmt.Sprintf("%s|%s|%s|%s", d.Code, d.Name, d.Finish, lab.Hex(d.RGB))
				if d.Beyond {
					line += " beyond"
				}
				got = append(got, line)
			}
			assert.Equal(t, c.want, got)
			assert.Equal(t, "mine.csv", card.Name)
			assert.False(t, card.Builtin)
		})
	}
}

// What Read refuses, and what it says.
var unreadable = []struct{ name, text, says string }{
	{"empty", "", "the card mine.csv holds no colors"},
	{"a header alone", "code,hex\n", "the card mine.csv holds no colors"},
	{"no header", "SR-041,#d8c3a5\n", "mine.csv, line 1: no column is called code"},
	{"no color column", "code,name\nA1,red\n", "mine.csv, line 1: no column is called hex, nor three L, a and b"},
	{"half of Lab", "code,L,a\nA1,50,0\n", "mine.csv, line 1: no column is called hex, nor three L, a and b"},
	{"a column twice", "code,hex,Hex\nA1,#fff,#fff\n", "mine.csv, line 1: two columns are called hex"},
	{"no code", "code,hex\n# x\n,#ffffff\n", "mine.csv, line 3: a color without a code"},
	{"no color", "code,hex,L,a,b\nA1,,,,\n", `mine.csv, line 2: "A1" has no color`},
	{"not all of Lab", "code,hex,L,a,b\nA1,,50,0,\n", "mine.csv, line 2: L, a and b are not all given"},
	{"bad hex", "code,hex\nA1,#ffff\n", `mine.csv, line 2: the hex value "#ffff" is not a color`},
	{"signed hex", "code,hex\nA1,+12345\n", `mine.csv, line 2: the hex value "+12345" is not a color`},
	{"L too large", "code,L,a,b\nA1,100.5,0,0\n", `mine.csv, line 2: L = "100.5" is no such number`},
	{"not a number", "code,L,a,b\nA1,50,NaN,0\n", `mine.csv, line 2: A = "NaN" is no such number`},
	{"infinite", "code,L,a,b\nA1,50,0,-Inf\n", `mine.csv, line 2: B = "-Inf" is no such number`},
	{"decimal commas between commas", "code,L,a,b\nA1,50,3,0,1,0,2\n", "mine.csv, line 2: 7 fields under 4 column names"},
	{"two colors in one", "code,hex,L,a,b\nA1,#ff0000,50,0,0\n", "mine.csv, line 2: #ff0000 and L,a,b are not the same color"},
	{"a code twice", "code,hex\nA1,#fff\nB1,#fff\na1,#000\n", `mine.csv, line 4: the code "a1" stands on line 2 already`},
	{"an open quote", "code,name,hex\nA1,\"red,#f00\nA2,blue,#00f\n", "mine.csv, line 2: a quote is not closed or stands in the wrong place"},
	{"a stray quote", "code,name,hex\nA1,3\" wide,#f00\n", "mine.csv, line 2: a quote is not closed or stands in the wrong place"},
	{"not UTF-8", "code,hex\nA\xe4,#fff\n", "the card mine.csv is not text in UTF-8"},
	{"UTF-16", "\xff\xfec\x00o\x00d\x00e\x00", "the card mine.csv is not text in UTF-8"},
	{"a zip", "PK\x03\x04\x00\x00", "the card mine.csv is not text in UTF-8"},
	{"a control character", "code,hex\nA\x1b[31m,#fff\n", "mine.csv, line 2: the code holds characters that cannot be printed"},
	{"a long code", "code,hex\n" + strings.Repeat("A", 41) + ",#fff\n", "mine.csv, line 2: the code is longer than 40 characters"},
	{"a long name", "code,name,hex\nA," + strings.Repeat("A", 121) + ",#fff\n", "mine.csv, line 2: the name is longer than 120 characters"},
}

func TestReadRefuses(t *testing.T) {
	for _, c := range unreadable {
		t.Run(c.name, func(t *testing.T) {
			card, err := Read("mine.csv", strings.NewReader(c.text))
			assert.Nil(t, card)
			var e *say.Error
			require.True(t, errors.As(err, &e), "%v", err)
			assert.Equal(t, c.says, e.What)
			assert.NotEmpty(t, e.Try)
		})
	}
}

func TestReadLimits(t *testing.T) {
	var b strings.Builder
	b.WriteString("code,hex\n")
	for i := 0; i < MaxDrills; i++ {
		fmt.Fprintf(&b, "A%d,#%06x\n", i, i)
	}
	card, err := Read("mine.csv", strings.NewReader(b.String()))
	require.NoError(t, err)
	assert.Len(t, card.Drills, MaxDrills)

	_, err = Read("mine.csv", strings.NewReader(b.String()+"one more,#fff\n"))
	assert.EqualError(t, err, "mine.csv, line 5002: more than 5000 colors")

	_, err = Read("mine.csv", io.MultiReader(strings.NewReader(b.String()), zeros{}))
	assert.EqualError(t, err, "the card mine.csv is over 4 MB")

	broken := errors.New("the disk is gone")
	_, err = Read("mine.csv", iotest.ErrReader(broken))
	assert.ErrorIs(t, err, broken)
}

// zeros never ends.
type zeros struct{}

func (zeros) Read(p []byte) (int, error) { return len(p), nil }

func FuzzRead(f *testing.F) {
	for _, c := range readable {
		f.Add(c.text)
	}
	for _, c := range unreadable {
		f.Add(c.text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		card, err := Read("mine.csv", strings.NewReader(text))
		if err != nil {
			var e *say.Error
			require.True(t, errors.As(err, &e) && e.Try != "")
			return
		}
		again := rewritten(t, card)
		require.Equal(t, card, again)
		for _, d := range card.Drills {
			require.NotEmpty(t, d.Code)
			require.NotEmpty(t, d.Name)
		}
	})
}
