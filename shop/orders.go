package shop

import (
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/internal/wording"
	"kitwright/kit"
	"kitwright/palettes/intake"
	"kitwright/render"
)

// MaxOrders is how many orders a table may hold. More are better cut into
// tables of a day or an hour.
const MaxOrders = 200_000

// Order is a row of a table of orders.
type Order struct {
	Row      int    // among the orders, from 1
	Line     int    // in the file
	Name     string // of its kit's folder
	Photo    string // path, from where the table lies
	Settings []Setting
	Bad      error // why it cannot be made; nil = nothing is known against it yet
}

// Setting is one thing that an order says: a flag by its name.
type Setting struct{ Name, Value string }

// ReadOrders reads a table: the first row names the columns, "photo", "name"
// or a setting; each further row is an order. A column that nobody knows is
// refused, as is a table without orders; an order that can't be made is kept
// with the reason.
func ReadOrders(name string, r io.Reader) ([]Order, error) {
	lines, err := intake.Rows("table of orders", name, r, MaxOrders+1)
	if err != nil {
		return nil, err
	}
	if len(lines) == 0 {
		return nil, say.Failed("the first row names the columns, such as photo,name,size,colors", "%s holds no orders", name)
	}
	columns, err := columnsOf(name, lines[0])
	if err != nil {
		return nil, err
	}
	if len(lines) == 1 {
		return nil, say.Failed("write one order a row below the names of the columns", "%s holds no orders", name)
	}
	orders := make([]Order, 0, len(lines)-1)
	for i, line := range lines[1:] {
		orders = append(orders, orderOf(i+1, line, columns))
	}
	nameApart(orders)
	return orders, nil
}

// columnsOf returns the names of the columns.
func columnsOf(name string, head intake.Line) ([]string, error) {
	known := append(settingNames(), "photo", "name")
	var columns []string
	for _, cell := range head.Cells {
		c := columnName(cell)
		switch {
		case c == "":
		case !slices.Contains(known, c):
			try := "the columns are photo, name and the flags of kitwright chart by their names"
			if near := setting.Near(c, known); near != "" {
				try = say.Hint("call it %s; %s", near, try)
			}
			return nil, say.Usage(try, "%s has a column %q, which is no setting", name, cell)
		case slices.Contains(columns, c):
			return nil, say.Usage("leave out one of them", "%s has two columns %s", name, c)
		}
		columns = append(columns, c)
	}
	if !slices.Contains(columns, "photo") {
		return nil, say.Usage("the first row names the columns, such as photo,name,size,colors", "%s has no column photo", name)
	}
	return columns, nil
}

// columnName is a column's name as a flag has it: "Caption size", "--caption-size".
func columnName(cell string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(strings.ToLower(strings.TrimLeft(cell, "-")), "_", "-")), "-")
}

// settingNames returns the settings of an order and of its prints.
func settingNames() (names []string) {
	o, p := kit.DefaultOrder(), render.DefaultPrint()
	bound(&o, &p).VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	return names
}

// bound returns the settings of an order and its prints as one table.
func bound(o *kit.Order, p *render.Print) *pflag.FlagSet {
	fs := pflag.NewFlagSet("order", pflag.ContinueOnError)
	o.Bind(fs)
	p.Bind(fs)
	return fs
}

func orderOf(row int, line intake.Line, columns []string) Order {
	o := Order{Row: row, Line: line.Number}
	if line.Bad != "" {
		o.Bad = say.Usage("mend the row", "the row cannot be read: %s", line.Bad)
	}
	for i, cell := range line.Cells {
		if i >= len(columns) || columns[i] == "" {
			if cell != "" && o.Bad == nil {
				o.Bad = say.Usage("name every column in the first row", "%q stands in a column without a name", cell)
			}
			continue
		}
		switch {
		case cell == "":
		case columns[i] == "photo":
			o.Photo = cell
		case columns[i] == "name":
			o.Name = cell
		default:
			o.Settings = append(o.Settings, Setting{columns[i], cell})
		}
	}
	if o.Bad == nil && o.Photo == "" {
		o.Bad = say.Usage("write the photo's file into the column photo", "the order names no photo")
	}
	if o.Name == "" {
		base := path.Base(strings.ReplaceAll(o.Photo, `\`, "/"))
		o.Name = strings.TrimSuffix(base, path.Ext(base))
	}
	if err := folderName(o.Name); err != nil && o.Bad == nil {
		o.Bad = err
	}
	return o
}

// folderName refuses a name that is no name of a folder on every system.
func folderName(name string) error {
	const try = "use letters, digits, spaces, dots and dashes"
	bad := strings.ContainsFunc(name, func(c rune) bool { return c < ' ' || strings.ContainsRune(`<>:"/\|?*`, c) })
	base, _, _ := strings.Cut(strings.ToUpper(name), ".")
	reserved := slices.Contains([]string{"CON", "PRN", "AUX", "NUL"}, base) ||
		len(base) == 4 && (strings.HasPrefix(base, "COM") || strings.HasPrefix(base, "LPT")) && base[3] >= '0' && base[3] <= '9'
	switch {
	case strings.Trim(name, ". ") == "":
		return say.Usage(try, "the order has no usable name")
	case bad, strings.HasPrefix(name, "."), strings.HasSuffix(name, "."), strings.HasSuffix(name, " "), reserved, len(name) > 120, wording.Printable(name) != name:
		return say.Usage(try, "%q cannot be the name of a folder everywhere", name)
	case strings.HasPrefix(strings.ToLower(name), resultsBase), strings.HasSuffix(strings.ToLower(name), ".before"):
		return say.Usage("choose another name", "%q is a name that we use beside the kits", name)
	}
	return nil
}

// nameApart refuses every order whose name another one has, too. Case does not
// tell names apart: on many systems it does not tell folders apart.
func nameApart(orders []Order) {
	first := map[string]int{}
	for i := range orders {
		key := strings.ToLower(orders[i].Name)
		other, taken := first[key]
		if !taken {
			first[key] = i
			continue
		}
		for _, pair := range [][2]int{{i, other}, {other, i}} {
			if o := &orders[pair[0]]; o.Bad == nil {
				o.Bad = say.Usage("give each order a name of its own in the column name", "line %d has the name %q, too", orders[pair[1]].Line, o.Name)
			}
		}
	}
}

// fill sets what an order says, and from rest what it does not say.
func (o Order) fill(rest map[string]string, to *kit.Order, print *render.Print) error {
	fs := bound(to, print)
	said := map[string]bool{}
	for _, x := range o.Settings {
		said[x.Name] = true
	}
	if said["size"] {
		said["grid"] = true // it would stand before the size
	}
	for _, name := range sortedKeys(rest) {
		if f := fs.Lookup(name); f != nil && !said[name] {
			if err := f.Value.Set(rest[name]); err != nil {
				return placed(err, name, rest[name])
			}
		}
	}
	for _, x := range o.Settings {
		if err := fs.Lookup(x.Name).Value.Set(x.Value); err != nil {
			return placed(err, x.Name, x.Value)
		}
	}
	return nil
}

// checkOwn refuses an order that charts from what is owned and does not say
// itself what that is. Orders are made side by side, on many machines, and in any
// order: one stock for all of them, or a stash, would promise the same drills to
// several.
func (o Order) checkOwn(filled kit.Order) error {
	if !filled.Own || slices.ContainsFunc(o.Settings, func(x Setting) bool { return x.Name == "stock" }) {
		return nil
	}
	return say.Usage("give this order a {stock} of its own, such as SR-041=340,SR-062=1200, or make it by itself with kitwright chart and {own}",
		"{own}: orders that are made together would be promised the same drills, so none takes from your stash")
}

// placed names the setting in an error about its value.
func placed(err error, name, value string) error {
	try := fmt.Sprintf("kitwright help chart says what %s takes", name)
	if said, ok := err.(*say.Error); ok {
		return said.At("%s", say.Setting(name)).OrTry(try)
	}
	return say.Usage(try, "%s does not take %q", say.Setting(name), value)
}
