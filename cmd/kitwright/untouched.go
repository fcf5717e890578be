package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes/intake"
	"kitwright/render"
)

// untouched refuses to write over tables that somebody changed by hand since
// they were made, but for those that are read, by their paths.
func untouched(dir string, k *kit.Kit, read ...string) error {
	type writers []func(io.Writer) error // the ways in which a table may have been made
	book := func(w io.Writer) error { return written(w, "kit.xlsx", folder.Job{Kit: k, Print: printedWith(k)}) }
	for _, table := range []struct {
		name  string
		write writers
		rows  bool // it may be packed otherwise, and tell the same
	}{
		{"kit.csv", writers{k.WriteKitCSV, k.WriteFirstKitCSV}, false}, {"kit.xlsx", writers{book}, true}, {"chart.csv", writers{k.WriteChartCSV}, false},
	} {
		path := filepath.Join(dir, table.name)
		same := slices.ContainsFunc(read, func(table string) bool { return samePlace(path, table) })
		for _, write := range table.write {
			if same {
				break
			}
			var err error
			if same, err = folder.Holds(path, write); err != nil {
				return err
			}
			if !same && table.rows {
				same = tellsTheSame(path, write)
			}
		}
		if !same {
			return say.Failed("move it away first if you want to keep it, or leave it out with chart {discard-edits}; kitwright edit {from-csv} takes changed colors, and kitwright print {codes} your codes, so that all files follow",
				"%s in %s was changed by hand and would be overwritten", table.name, dir)
		}
	}
	return nil
}

// written writes one file of a kit.
func written(w io.Writer, name string, j folder.Job) error {
	all := folder.Outputs()
	return all[slices.IndexFunc(all, func(o folder.Output) bool { return o.Name == name })].Write(w, j)
}

// printedWith returns the settings that a kit was printed with.
func printedWith(k *kit.Kit) render.Print {
	p := render.DefaultPrint()
	fs := pflag.NewFlagSet("print", pflag.ContinueOnError)
	p.Bind(fs)
	fs.VisitAll(func(f *pflag.Flag) {
		if text, told := k.Print[f.Name]; told {
			_ = f.Value.Set(text) // what cannot be is as usual
		}
	})
	return p
}

// tellsTheSame says whether a spreadsheet has the rows that write writes.
func tellsTheSame(path string, write func(io.Writer) error) bool {
	is, err := os.Open(path)
	if err != nil {
		return false
	}
	defer is.Close()
	var made bytes.Buffer
	if write(&made) != nil {
		return false
	}
	a, err1 := intake.Rows("table", path, is, mostCodes)
	b, err2 := intake.Rows("table", path, &made, mostCodes)
	return err1 == nil && err2 == nil && slices.EqualFunc(a, b, func(x, y intake.Line) bool { return x.Bad == y.Bad && slices.Equal(x.Cells, y.Cells) })
}
