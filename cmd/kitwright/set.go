package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/folder"
	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/render"
)

// usable are the settings that may be set once for all runs: what belongs to a
// person's printer, drills and drawers, never to one picture.
var usable = []string{
	"card", "drill", "pitch", "units", "font", "paper", "paper-margin", "large", "measured",
	"margin", "bleed", "film-width", "media-width", "label-for", "label-sheet", "label-round", "extra", "extra-least", "extra-most", "bags", "bag-fill", "weighed", "hand", "tips", "pace",
}

func setCommand() command {
	return command{
		name: "set", args: "[SETTING [VALUE]]", summary: "set once what you always want, such as your paper",
		about: `Keeps a setting for all later runs, such as the paper of your printer, your card of drills, or
			what your printer's bars measured. A flag always comes before it, and so does what a kit was
			printed with. Without arguments it shows what is set. It may be kept for: ` + strings.Join(usable, ", ") + `.`,
		example: "kitwright set paper letter\nkitwright set --forget paper\nkitwright set",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var places cardPlaces
			places.bind(fs)
			var forget bool
			fs.BoolVar(&forget, "forget", false, "forget the setting")
			return func(ctx context.Context, e env, args []string) error {
				path := settingsPath(places.home)
				set, err := readSettings(path)
				if err != nil {
					return err
				}
				switch {
				case len(args) == 0 && !forget:
					return showSettings(e, path, set)
				case forget && len(args) == 1:
					if _, there := set[args[0]]; !there {
						return say.Usage("kitwright set shows what is set", "%s is not set", args[0])
					}
					delete(set, args[0])
				case !forget && len(args) == 2:
					value, err := checkSetting(args[0], args[1])
					if err != nil {
						return err
					}
					set[args[0]] = value
				default:
					return say.Usage("kitwright set paper letter", "set takes a setting and its value, or neither")
				}
				if path == "" {
					return say.Failed("name a folder with {home}", "this system names no place for settings")
				}
				if err := writeSettings(ctx, path, set); err != nil {
					return err
				}
				return showSettings(e, path, set)
			}
		},
	}
}

// settingsPath is the file that settings are kept in; "" if there is no place.
func settingsPath(home string) string {
	dir := cardPlaces{home}.shelf().Dir
	if dir == "" {
		return ""
	}
	return filepath.Join(dir, settingsName)
}

const settingsName = "settings.txt"

// settingsHead is the first line of the file.
const settingsHead = "# kitwright settings, a line each: paper = letter"

// checkSetting returns a value as its flag writes it.
func checkSetting(name, value string) (string, error) {
	f := allSettings().Lookup(name)
	if f == nil || !slices.Contains(usable, name) {
		try := "kitwright help set lists what can be"
		if near := setting.Near(name, usable); near != "" {
			try = say.Hint("%s; %s", near, try)
		}
		return "", say.Usage(try, "%q cannot be set for all runs", name)
	}
	if err := f.Value.Set(value); err != nil {
		if said, ok := err.(*say.Error); ok {
			return "", said.At("%s", name).OrTry("kitwright help chart says what it takes")
		}
		return "", say.Usage("kitwright help chart says what it takes", "%s does not take %q", name, value)
	}
	if file, ok := f.Value.(interface{ Kept() string }); ok {
		return file.Kept(), nil
	}
	return f.Value.String(), nil
}

// allSettings returns every setting of an order and of its prints.
func allSettings() *pflag.FlagSet {
	fs := pflag.NewFlagSet("settings", pflag.ContinueOnError)
	o, p := kit.DefaultOrder(), render.DefaultPrint()
	o.Bind(fs)
	p.Bind(fs)
	return fs
}

// readSettings reads what is set for all runs. No file is no settings.
func readSettings(path string) (map[string]string, error) {
	set := map[string]string{}
	if path == "" {
		return set, nil
	}
	if _, err := os.Stat(path); os.IsNotExist(err) {
		return set, nil
	}
	f, err := input.Open(path, "settings file")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, 1<<20))
	if err != nil {
		return nil, say.File("the settings cannot be read", path, err)
	}
	for i, line := range strings.Split(strings.TrimPrefix(string(text), "\ufeff"), "\n") {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		name, value, ok := strings.Cut(line, "=")
		name = strings.TrimSpace(name)
		if ok {
			value, err = checkSetting(name, strings.TrimSpace(value))
		}
		if !ok || err != nil {
			return nil, say.Failed("mend the line or take it out", "%s, line %d: %q is no setting with its value", path, i+1, line)
		}
		set[name] = value
	}
	return set, nil
}

func writeSettings(ctx context.Context, path string, set map[string]string) error {
	return writeFile(ctx, path, true, isSettings, func(w io.Writer) error {
		_, err := io.WriteString(w, settingsHead+"\n"+settingLines(set))
		return err
	})
}

// isSettings tells a settings file by its first line.
func isSettings(r io.Reader) bool {
	head := make([]byte, len("# kitwright settings"))
	_, err := io.ReadFull(r, head)
	return err == nil && string(head) == "# kitwright settings"
}

func settingLines(set map[string]string) string {
	var b strings.Builder
	for _, name := range slices.Sorted(maps.Keys(set)) {
		fmt.Fprintf(&b, "%s = %s\n", name, set[name])
	}
	return b.String()
}

func showSettings(e env, path string, set map[string]string) error {
	text := settingLines(set)
	if text == "" {
		text = "Nothing is set for all runs. For example: kitwright set paper letter\n"
	}
	_, err := fmt.Fprintf(e.stdout, "%s(kept in %s)\n", text, path)
	return err
}

// applySettings gives the flags that were not given what is set for all runs.
func applySettings(fs *pflag.FlagSet) error {
	any, dir := false, ""
	fs.VisitAll(func(f *pflag.Flag) {
		any = any || slices.Contains(usable, f.Name) && setting.GroupOf(f) != ""
		if f.Name == "home" {
			dir = f.Value.String()
		}
	})
	if !any {
		return nil
	}
	set, err := readSettings(settingsPath(dir))
	if err != nil {
		return err
	}
	return keepSettings(fs, set, "your settings")
}

// likeFlag is the flag of a run that takes its settings from a kit.
type likeFlag struct {
	dir  string
	size bool // a flag says another size or pitch
}

func (l *likeFlag) bind(fs *pflag.FlagSet) {
	fs.StringVar(&l.dir, "like", "", "take what no flag says from this kit: its photo, order and prints")
}

// apply gives the flags that were not given the kit's settings, and returns the
// photo it was made of if none is named.
func (l *likeFlag) apply(fs *pflag.FlagSet, args []string, demo *bool) ([]string, error) {
	l.size = slices.ContainsFunc([]string{"size", "pitch", "drill"}, fs.Changed)
	if l.dir == "" {
		return args, nil
	}
	dir := kitFolder(l.dir)
	k, err := folder.Read(dir)
	if err != nil {
		return nil, err
	}
	order := maps.Clone(k.Order)
	if fs.Changed("size") {
		delete(order, "grid") // it would stand before the size
	}
	if err := keepSettings(fs, order, "the kit's order"); err != nil {
		return nil, err
	}
	prints := maps.Clone(k.Print)
	for _, name := range []string{"size", "grid", "pitch", "drill", "turn", "fit", "crop"} {
		if fs.Changed(name) {
			delete(prints, "measured-picture") // it was of another size
		}
	}
	if err := keepSettings(fs, prints, "the kit's prints"); err != nil {
		return nil, err
	}
	if len(args) > 0 || *demo {
		return args, nil
	}
	src, err := openPhoto(nil, true)
	if err != nil {
		return nil, err
	}
	if sum, err := src.sum(); err == nil && sum == k.Photo.SHA256 {
		*demo = true
		return args, nil
	}
	for _, path := range []string{filepath.Join(filepath.Dir(filepath.Clean(dir)), k.Photo.Name), k.Photo.Name} {
		src, err := openPhoto([]string{path}, false)
		if err != nil {
			continue
		}
		sum, err := src.sum()
		src.close()
		if err == nil && sum == k.Photo.SHA256 {
			return []string{path}, nil
		}
	}
	return nil, say.Failed("name the photo too", "the photo that %s was made of, %s, lies neither beside it nor here", dir, k.Photo.Name)
}

// freePlace returns the first of NAME, NAME-2, NAME-3 ... with its ending where
// nothing lies; NAME where what lies there is to be replaced.
func freePlace(name, ending string, force bool) string {
	place := name + ending
	for i := 2; !force && folder.Exists(place); i++ {
		place = fmt.Sprintf("%s-%d%s", name, i, ending)
	}
	return place
}
