package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"kitwright/internal/checker"
)

// kitRows returns the rows of a kit.csv, and which column is where.
func kitRows(t *testing.T, path string) (rows [][]string, at map[string]int) {
	rows, err := csv.NewReader(bytes.NewReader(read(t, path))).ReadAll()
	require.NoError(t, err)
	at = map[string]int{}
	for i, name := range rows[0] {
		at[name] = i
	}
	return rows, at
}

// One truth: kit.csv, kit.json, kit.xlsx, legend.pdf, labels.pdf and sheets.pdf
// tell the same counts, extra, what to buy, bags and sums.
func TestOneListEverywhere(t *testing.T) {
	checker.Slow(t)
	checker.Need(t, "pdftotext")
	madeKit(t, "--bags", "200:0.50,1000:1.80", "--bag-fill", "95%", "--weighed", "500=4.2g", "--label-for", "bag")
	rows, at := kitRows(t, "cat-kit/kit.csv")
	legend, labels, sheets := pdfText(t, "cat-kit/legend.pdf"), pdfText(t, "cat-kit/labels.pdf"), pdfText(t, "cat-kit/sheets.pdf")
	var told struct {
		Legend []struct {
			Number int
			Buying struct{ Extra, Buy int }
		}
		Buying struct {
			Extra, Buy int
			Price      json.Number
		}
	}
	require.NoError(t, json.Unmarshal(read(t, "cat-kit/kit.json"), &told))
	book, err := excelize.OpenFile("cat-kit/kit.xlsx")
	require.NoError(t, err)
	defer book.Close()
	shown, err := book.GetRows("drill list")
	require.NoError(t, err)
	require.Len(t, shown, len(rows))

	table, err := readDrills("cat-kit/kit.csv", "", nil)
	require.NoError(t, err)
	require.Len(t, table.rows, 12, "the sums are no color")
	for _, r := range table.rows {
		assert.Empty(t, r.bad)
	}

	sums := map[string]int{}
	last := len(rows) - 1
	for i, r := range rows[1:] {
		number := func(column string) int {
			n, err := strconv.Atoi(r[at[column]])
			require.NoError(t, err)
			return n
		}
		drills, extra, buy := number("drills"), number("extra"), number("buy")
		assert.Equal(t, []string{r[at["drills"]], r[at["extra"]], r[at["buy"]]}, shown[i+1][8:11], "kit.xlsx")
		if i+1 == last {
			assert.Equal(t, []int{sums["drills"], sums["extra"], sums["buy"]}, []int{drills, extra, buy})
			assert.Equal(t, []int{extra, buy}, []int{told.Buying.Extra, told.Buying.Buy})
			assert.Equal(t, r[at["price"]], string(told.Buying.Price))
			sum := number("buy")
			for _, text := range []string{legend, sheets} {
				assert.Regexp(t, regexp.QuoteMeta(comma(sum))+` drills to buy, `+regexp.QuoteMeta(comma(extra))+` of\s+them\s+extra,\s+in\s+[\s\S]*`+regexp.QuoteMeta(r[at["price"]]), text)
			}
			continue
		}
		sums["drills"], sums["extra"], sums["buy"] = sums["drills"]+drills, sums["extra"]+extra, sums["buy"]+buy
		assert.Equal(t, max(20, (drills+9)/10), extra)
		assert.Equal(t, drills+extra, buy)
		assert.Equal(t, []int{extra, buy}, []int{told.Legend[i].Buying.Extra, told.Legend[i].Buying.Buy})
		bags := strings.ReplaceAll(strings.ReplaceAll(r[at["bags"]], " x ", " × "), "1000", "1,000")
		for name, pattern := range map[string]string{
			"legend": comma(drills) + ` +` + comma(extra) + ` +` + comma(buy) + `\n`,
			"labels": comma(buy) + " drills",
		} {
			text := map[string]string{"legend": legend, "labels": labels}[name]
			assert.Regexp(t, pattern, text, name)
			assert.Contains(t, text, bags, name)
		}
		assert.Contains(t, labels, comma(drills)+" and "+comma(extra)+" extra")
		assert.Contains(t, labels, r[at["grams"]]+" ± "+r[at["grams_off"]]+" g")
	}
}

func comma(n int) string {
	if n < 1000 {
		return strconv.Itoa(n)
	}
	return strconv.Itoa(n/1000) + "," + strconv.Itoa(1000 + n%1000)[1:]
}

func pdfText(t *testing.T, path string) string {
	out, err := exec.Command("pdftotext", "-layout", path, "-").Output()
	require.NoError(t, err)
	return string(out)
}

// Her codes, filled into kit.csv or kit.xlsx, come on everything, stay through
// later prints and edits, and go when asked.
func TestYourCodes(t *testing.T) {
	checker.Slow(t)
	checker.Need(t, "pdftotext")
	madeKit(t)
	does(t, "print", "cat-kit", "--out", "cat-kit", "--force", "--quiet", "--bags", "200,1000")
	does(t, "print", "cat-kit", "--out", "cat-kit", "--force", "--quiet", "--only", "labels", "--copies", "3")
	rows, at := kitRows(t, "cat-kit/kit.csv")
	require.NotEmpty(t, rows[1][at["bags"]], "tables follow what kit.json says, whatever is printed")

	rows[1][at["your_code"]], rows[2][at["your_code"]] = "0012", "SR-07"
	var b bytes.Buffer
	require.NoError(t, csv.NewWriter(&b).WriteAll(rows))
	require.NoError(t, os.WriteFile("cat-kit/kit.csv", b.Bytes(), 0o666))
	code, _, errs := kitwright(t, "print", "cat-kit", "--out", "cat-kit", "--force")
	assert.Equal(t, 1, code, "her codes are not lost unasked")
	assert.Contains(t, errs, "kit.csv in cat-kit was changed by hand")
	out := does(t, "print", "cat-kit", "--out", "cat-kit", "--force", "--codes", "cat-kit/kit.csv")
	assert.Contains(t, out, "2 colors of 12 called by your codes; still without one: no. 3, 4,")
	for _, name := range []string{"canvas", "sheets", "labels", "legend", "plan"} {
		text := pdfText(t, "cat-kit/"+name+".pdf")
		assert.Regexp(t, `(?m)(^|\s)0012\s`, text, name)
		assert.Regexp(t, `(?m)(^|\s)SR-07\s`, text, name)
	}
	rows, _ = kitRows(t, "cat-kit/kit.csv")
	assert.Equal(t, []string{"0012", "SR-07", ""}, []string{rows[1][at["your_code"]], rows[2][at["your_code"]], rows[3][at["your_code"]]})

	book, err := excelize.OpenFile("cat-kit/kit.xlsx")
	require.NoError(t, err)
	is, err := book.GetCellValue("drill list", "E2")
	require.NoError(t, err)
	assert.Equal(t, "0012", is)
	require.NoError(t, book.SetCellStr("drill list", "E4", "=third"))
	require.NoError(t, book.Save())
	book.Close()
	code, _, errs = kitwright(t, "edit", "cat-kit", "--swap", rows[4][at["code"]]+"=5R 4/14")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "kit.xlsx in cat-kit was changed by hand")
	does(t, "print", "cat-kit", "--out", "cat-kit", "--force", "--quiet", "--codes", "cat-kit/kit.xlsx")
	does(t, "edit", "cat-kit", "--quiet", "--swap", rows[4][at["code"]]+"=5R 4/14")
	rows, _ = kitRows(t, "cat-kit/kit.csv")
	assert.Equal(t, "'=third", rows[3][at["your_code"]], "kept through an edit, and nothing runs")

	does(t, "chart", "--demo", "--quiet", "--grid", "60x40", "--colors", "12", "--tone", "none", "--force")
	rows, _ = kitRows(t, "cat-kit/kit.csv")
	assert.Equal(t, "0012", rows[1][at["your_code"]], "kept by a kit that is made again")

	does(t, "print", "cat-kit", "--out", "cat-kit", "--force", "--quiet", "--codes", "none")
	rows, _ = kitRows(t, "cat-kit/kit.csv")
	assert.Empty(t, rows[1][at["your_code"]])
	assert.NotContains(t, string(read(t, "cat-kit/kit.json")), "your_code")
}

func TestYourCodesRefuse(t *testing.T) {
	checker.Slow(t)
	madeKit(t)
	rows, at := kitRows(t, "cat-kit/kit.csv")
	a := rows[1][at["code"]]
	for name, c := range map[string]struct{ table, says string }{
		"empty":       {"", "is empty"},
		"no column":   {"code,drills,name\n" + a + ",5,black\n", "no column with your codes"},
		"none filled": {string(read(t, "cat-kit/kit.csv")), "has no code filled in"},
		"other kit":   {"code,your_code\nSR-999,X\n", "is a color of this kit"},
		"twice":       {"code,your_code\n" + a + ",X\n" + a + ",Y\n", "in line 2 and"},
		"too long":    {"code,your_code\n" + a + "," + strings.Repeat("X", 41) + "\n", "line 2"},
	} {
		require.NoError(t, os.WriteFile("codes.csv", []byte(c.table), 0o666))
		code, out, errs := kitwright(t, "print", "cat-kit", "--codes", "codes.csv")
		assert.NotEqual(t, 0, code, name)
		assert.Empty(t, out)
		assert.Contains(t, errs, c.says, name)
		assert.NoDirExists(t, "cat-kit-print")
	}
	code, _, errs := kitwright(t, "print", "cat-kit", "--codes", "no.csv")
	assert.Equal(t, 1, code)
	assert.Contains(t, errs, "no such file")

	// A list without heads, and the table of card match.
	require.NoError(t, os.WriteFile("codes.csv", []byte(a+";X-1\n"), 0o666))
	does(t, "print", "cat-kit", "--codes", "codes.csv", "--quiet", "-o", "listed", "--only", "labels")
	assert.Contains(t, string(read(t, "listed/kit.json")), `"your_code": "X-1"`)
	require.NoError(t, os.WriteFile("codes.csv", []byte("code,hex,match,match_hex,difference,says\n"+a+",#000000,SR-001,#0e0e0e,2.310,hard to tell apart\n"), 0o666))
	does(t, "print", "cat-kit", "--codes", "codes.csv", "--quiet", "-o", "matched", "--only", "labels")
	assert.Contains(t, string(read(t, "matched/kit.json")), `"your_code": "SR-001"`)
}
