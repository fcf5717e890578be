package stash

import (
	"bytes"
	"fmt"
	"hash/crc32"
	"strconv"
	"strings"
	"time"

	"kitwright/internal/measure"
	"kitwright/internal/wording"
	"kitwright/palettes"
)

// Act is what an entry does.
type Act string

// The acts.
const (
	Added    Act = "add"    // bought, or left over
	Counted  Act = "count"  // corrected to what was counted or weighed
	Taken    Act = "take"   // for a kit
	Returned Act = "return" // from a kit
	Undone   Act = "undo"   // of an earlier entry: its lines with the signs turned
	Repaired Act = "repair" // a broken line was asked about
)

// Line is a line of the ledger: what one entry does to one lot.
type Line struct {
	Entry       int // counted from 1 without a gap
	Part, Parts int // an entry counts only if all its parts stand
	Date        string
	Act         Act
	Key
	Drills  int // what the lot gains; below zero what it loses
	Counted int // Counted: the number found; -1 = none
	Place   string
	Note    string
	Kit     string // Taken, Returned: the mark of the kit as it was first made
	Chart   string // Taken, Returned: the sum of its chart; of an import, the file's
	Ref     string // what the entry refers to: see refs.go
}

// header is the first line of a ledger. A line's last column is its checksum.
const header = "entry,part,parts,date,act,card,code,finish,shape,size,drills,counted,place,note,kit,chart,ref,sum"

const columns = 18

// MaxDrills is the most that a line may say: far above any stash.
const MaxDrills = 100_000_000

// castagnoli is CRC-32C (RFC 3720, 12.1).
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// sumOf is the checksum of a line's other columns as they are written: an x, so
// that no spreadsheet takes it for a number, and CRC-32C in hex.
func sumOf(payload []byte) string {
	return fmt.Sprintf("x%08x", crc32.Checksum(payload, castagnoli))
}

// sumIs says whether a checksum is that of a payload.
func sumIs(sum, payload []byte) bool {
	const hex = "0123456789abcdef"
	if len(sum) != 9 || sum[0] != 'x' {
		return false
	}
	v := crc32.Checksum(payload, castagnoli)
	for i := 8; i > 0; i-- {
		if sum[i] != hex[v&15] {
			return false
		}
		v >>= 4
	}
	return true
}

// isSum says whether a field is a checksum, right or wrong.
func isSum(field []byte) bool {
	return len(field) == 9 && field[0] == 'x' && len(bytes.Trim(field[1:], "0123456789abcdef")) == 0
}

// append writes the line with its end.
func (l Line) append(to []byte) []byte {
	begin := len(to)
	counted := ""
	if l.Counted >= 0 {
		counted = strconv.Itoa(l.Counted)
	}
	size := ""
	if l.Size > 0 {
		size = l.Size.String()
	}
	drills := strconv.Itoa(l.Drills)
	for i, field := range []string{
		strconv.Itoa(l.Entry), strconv.Itoa(l.Part), strconv.Itoa(l.Parts), l.Date, string(l.Act),
		wording.Cell(l.Card), wording.Cell(l.Code), wording.Cell(string(l.Finish)), l.Shape, size,
		drills, counted, wording.Cell(l.Place), wording.Cell(l.Note), l.Kit, l.Chart, l.Ref,
	} {
		if i > 0 {
			to = append(to, ',')
		}
		to = appendField(to, field)
	}
	sum := sumOf(to[begin:])
	return append(append(append(to, ','), sum...), '\n')
}

// appendField writes a field of CSV (RFC 4180).
func appendField(to []byte, field string) []byte {
	if !strings.ContainsAny(field, "\",") && strings.TrimSpace(field) == field {
		return append(to, field...)
	}
	to = append(to, '"')
	to = append(to, strings.ReplaceAll(field, `"`, `""`)...)
	return append(to, '"')
}

// split parts a line into its fields. Without quotes they lie in the line.
func split(line []byte, into *[columns][]byte) bool {
	n := 0
	if bytes.IndexByte(line, '"') < 0 {
		for n < columns-1 {
			at := bytes.IndexByte(line, ',')
			if at < 0 {
				return false
			}
			into[n], line = line[:at], line[at+1:]
			n++
		}
		into[n] = line
		return bytes.IndexByte(line, ',') < 0
	}
	for n < columns {
		var field []byte
		if len(line) > 0 && line[0] == '"' {
			line = line[1:]
			for {
				at := bytes.IndexByte(line, '"')
				if at < 0 {
					return false
				}
				field = append(field, line[:at]...)
				line = line[at+1:]
				if len(line) == 0 || line[0] != '"' {
					break
				}
				field, line = append(field, '"'), line[1:]
			}
		} else {
			at := bytes.IndexByte(line, ',')
			if at < 0 {
				at = len(line)
			}
			field, line = line[:at], line[at:]
		}
		into[n] = field
		n++
		if len(line) == 0 {
			break
		}
		if line[0] != ',' {
			return false
		}
		if line = line[1:]; len(line) == 0 && n < columns {
			into[n] = nil
			n++
		}
	}
	return n == columns && len(line) == 0
}

// number reads a whole number as strconv writes it.
func number(b []byte) (v int, ok bool) {
	neg := len(b) > 0 && b[0] == '-'
	if neg {
		b = b[1:]
	}
	if len(b) == 0 || len(b) > 10 || b[0] == '0' && (len(b) > 1 || neg) {
		return 0, false
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		v = 10*v + int(c-'0')
	}
	if neg {
		v = -v
	}
	return v, true
}

// read makes a line of its fields, and says what is wrong with them.
func read(f *[columns][]byte) (l Line, why string) {
	var ok [6]bool
	l.Entry, ok[0] = number(f[0])
	l.Part, ok[1] = number(f[1])
	l.Parts, ok[2] = number(f[2])
	l.Drills, ok[3] = number(f[10])
	l.Counted, ok[4] = number(f[11])
	if len(f[11]) == 0 {
		l.Counted, ok[4] = -1, true
	}
	if len(f[9]) == 0 {
		ok[5] = true
	} else if size, err := measure.ParseLength(string(f[9])); err == nil && size.String() == string(f[9]) {
		l.Size, ok[5] = size, true
	}
	for i, name := range []string{"entry", "part", "parts", "drills", "counted", "size"} {
		if !ok[i] {
			return l, "its column " + name + " holds no number that belongs there"
		}
	}
	l.Date, l.Act = string(f[3]), Act(f[4])
	l.Card, l.Code = wording.Uncell(string(f[5])), wording.Uncell(string(f[6]))
	l.Finish, l.Shape = palettes.Finish(wording.Uncell(string(f[7]))), string(f[8])
	l.Place, l.Note = wording.Uncell(string(f[12])), wording.Uncell(string(f[13]))
	l.Kit, l.Chart, l.Ref = string(f[14]), string(f[15]), string(f[16])
	return l, l.wrong()
}

// wrong says why no ledger of ours can hold the line; "" if it can.
func (l Line) wrong() string {
	switch {
	case l.Entry < 1 || l.Part < 1 || l.Parts < l.Part:
		return "it has no place among the entries"
	case l.Drills > MaxDrills || l.Drills < -MaxDrills || l.Counted > MaxDrills || l.Counted < -1:
		return "it holds more drills than any stash"
	case !isDate(l.Date):
		return "its date is none"
	}
	switch l.Act {
	case Added, Counted, Taken, Returned, Undone:
		if l.Code == "" || l.Card == "" || l.Size <= 0 {
			return "it does not say which drills"
		}
	case Repaired:
	default:
		return "it says something that this release does not know: " + string(l.Act)
	}
	if l.Code != "" && l.Shape != "square" && l.Shape != "round" {
		return "its shape is neither square nor round"
	}
	for _, w := range []struct {
		kind wording.Kind
		text string
	}{{wording.Name, l.Card}, {wording.Code, l.Code}, {wording.Finish, string(l.Finish)}, {wording.Title, l.Place}, {wording.Title, l.Note}, {wording.Title, l.Kit}, {wording.Title, l.Chart}, {wording.Title, l.Ref}} {
		if err := w.kind.Check(w.text); err != nil {
			return err.Error()
		}
	}
	return ""
}

// isDate says whether a text is a day such as 2026-11-26.
func isDate(s string) bool {
	_, err := time.Parse(time.DateOnly, s)
	return err == nil && len(s) == len(time.DateOnly)
}
