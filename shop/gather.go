package shop

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"kitwright/internal/say"
)

// GatheredBase begins the names of the two files that joined results go into.
const GatheredBase = resultsBase + ".all"

// Gathered is what several runs over one table came to.
type Gathered struct {
	Orders  int
	Results []Result // by row
	Missing []Name   // orders of which nothing is known; their names where known
	Parts   []Part   // whose results were found
}

// Gather joins the results of all parts in a folder. Of an order with several
// results the one that was made counts.
func Gather(dir string) (*Gathered, error) {
	paths, err := filepath.Glob(filepath.Join(escaped(dir), resultsBase+"*.jsonl"))
	if err != nil {
		return nil, say.Failed("name the folder that a batch made its kits in", "%s cannot be searched: %w", dir, err)
	}
	g := &Gathered{}
	names := map[int]string{}
	joined := map[int]Result{}
	var first begun
	var firstPath string
	for _, path := range paths {
		if filepath.Base(path) == GatheredBase+".jsonl" {
			continue
		}
		head, results, err := readPart(path)
		if err != nil {
			return nil, err
		}
		if firstPath == "" {
			first, firstPath = head, path
		}
		if head.Table != first.Table || head.Orders != first.Orders {
			return nil, say.Failed("move the results of other tables away, or gather where only one was made",
				"%s and %s are of different tables of orders", filepath.Base(firstPath), filepath.Base(path))
		}
		if head.Kitwright != first.Kitwright {
			return nil, say.Failed("make all shards with one release", "%s was made by release %s, %s by %s", filepath.Base(firstPath), first.Kitwright, filepath.Base(path), head.Kitwright)
		}
		g.Parts = append(g.Parts, head.Part)
		for _, n := range head.Names {
			names[n.Row] = n.Name
		}
		for row, r := range results {
			if was, there := joined[row]; !there || was.Status == Failed && r.Status != Failed {
				joined[row] = r
			}
		}
	}
	if firstPath == "" {
		return nil, say.Failed("name the folder that a batch made its kits in", "%s holds no results of a batch", dir)
	}
	g.Orders = first.Orders
	for row := 1; row <= g.Orders; row++ {
		if r, there := joined[row]; there {
			g.Results = append(g.Results, r)
		} else {
			g.Missing = append(g.Missing, Name{row, names[row]})
		}
	}
	return g, nil
}

// escaped keeps a folder's name from being read as a pattern.
func escaped(dir string) string {
	return strings.NewReplacer("[", "[[]", "*", "[*]", "?", "[?]").Replace(dir)
}

// Absent names the shards that left no results, where there are shards.
func (g *Gathered) Absent() (absent []string) {
	of := 0
	for _, p := range g.Parts {
		of = max(of, p.Of)
	}
	for i := 1; i <= of; i++ {
		if !slices.Contains(g.Parts, Part{Shard: i, Of: of}) {
			absent = append(absent, fmt.Sprintf("%d/%d", i, of))
		}
	}
	return absent
}

// CSV and JSONL are the joined results as files.
func (g *Gathered) CSV() []byte {
	var b bytes.Buffer
	writeCSV(&b, resultColumns) // a buffer takes everything
	for _, r := range g.Results {
		writeCSV(&b, r.cells())
	}
	return b.Bytes()
}

func (g *Gathered) JSONL() []byte {
	var b bytes.Buffer
	for _, r := range g.Results {
		line, err := json.Marshal(r)
		if err != nil {
			panic(err) // strings and finite numbers
		}
		b.Write(append(line, '\n'))
	}
	return b.Bytes()
}

// IsCSV and IsJSONL tell the files of joined results, which may be replaced.
func IsCSV(begin []byte) bool {
	return bytes.HasPrefix(begin, []byte(strings.Join(resultColumns, ",")+"\n"))
}

func IsJSONL(begin []byte) bool { return len(begin) == 0 || bytes.HasPrefix(begin, []byte(`{"row":`)) }
