package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/internal/wording"
)

// listing is a table that a command prints: for a person, as CSV or as JSON.
type listing struct {
	head []string
	rows [][]any // string, int, float64 (one decimal for a person, three otherwise), bool
}

func (l *listing) add(cells ...any) { l.rows = append(l.rows, cells) }

// listingForm is how a listing is wanted.
type listingForm struct{ csv, json bool }

func (f *listingForm) bind(fs *pflag.FlagSet) {
	fs.BoolVar(&f.csv, "csv", false, "print the table as CSV")
	fs.BoolVar(&f.json, "json", false, "print the table as JSON")
}

func (f listingForm) check() error {
	if f.csv && f.json {
		return say.Usage("leave out one", "{csv} and {json} were both asked for")
	}
	return nil
}

// forPeople says whether words may stand around the table.
func (f listingForm) forPeople() bool { return !f.csv && !f.json }

func (l *listing) write(w io.Writer, f listingForm) error {
	switch {
	case f.json:
		return l.writeJSON(w)
	case f.csv:
		out := csv.NewWriter(w)
		out.Write(l.head)
		for _, row := range l.rows {
			cells := make([]string, len(row))
			for i, c := range row {
				if s, ok := c.(string); ok {
					cells[i] = wording.Cell(s)
				} else {
					cells[i] = plain(c, 3)
				}
			}
			out.Write(cells)
		}
		out.Flush()
		return out.Error()
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	line := func(cells []string) {
		for i, c := range cells {
			if i > 0 {
				fmt.Fprint(t, "\t")
			}
			fmt.Fprint(t, wording.Printable(c))
		}
		fmt.Fprintln(t)
	}
	line(l.head)
	for _, row := range l.rows {
		cells := make([]string, len(row))
		for i, c := range row {
			cells[i] = plain(c, 1)
		}
		line(cells)
	}
	return t.Flush()
}

// plain writes a cell, numbers with at most so many decimals.
func plain(c any, decimals int) string {
	switch v := c.(type) {
	case nil: // nothing to tell, null in JSON
		return ""
	case float64:
		return strconv.FormatFloat(v, 'f', decimals, 64)
	case int:
		return strconv.Itoa(v)
	case bool:
		return strconv.FormatBool(v)
	}
	return c.(string)
}

// writeJSON writes an array of objects, the keys in the order of the columns.
func (l *listing) writeJSON(w io.Writer) error {
	out := []byte("[")
	for i, row := range l.rows {
		if i > 0 {
			out = append(out, ',')
		}
		out = append(out, "\n  {"...)
		for j, c := range row {
			if j > 0 {
				out = append(out, ", "...)
			}
			key, _ := json.Marshal(l.head[j])
			out = append(append(out, key...), ": "...)
			if v, ok := c.(float64); ok {
				out = append(out, plain(v, 3)...)
				continue
			}
			value, err := json.Marshal(c)
			if err != nil {
				return err
			}
			out = append(out, value...)
		}
		out = append(out, '}')
	}
	if len(l.rows) > 0 {
		out = append(out, '\n')
	}
	_, err := w.Write(append(out, "]\n"...))
	return err
}
