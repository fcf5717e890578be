package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"runtime"
	"sync"
	"time"

	"github.com/BurntSushi/toml"
	"github.com/spf13/pflag"

	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/kit"
	"kitwright/render"
	"kitwright/shop"
)

func watchCommand() command {
	return command{
		name: "watch", args: "FOLDER", summary: "make a kit of every photo with a ticket that is dropped into a folder",
		about: `Watches a folder. A photo with a ticket of the same name, a .csv of two rows or a .json of
			settings, is taken once both have stopped growing; its kit folder appears in --out, and photo
			and ticket move to --done, or to --failed with a sentence beside them. Nothing is ever
			overwritten: a second order of a name gets a number behind it. Several watchers may share the
			folders, where their file system knows file locks; what one was killed at, the next one takes up.`,
		example: "kitwright watch in --out kits --done done --failed failed --settings shop.toml",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			b := batchRun{jobs: runtime.GOMAXPROCS(0), memory: 2 << 30}
			order, print := kit.DefaultOrder(), render.DefaultPrint().In(locale())
			w := &shop.Watch{IsPhoto: looksLikePhoto}
			var settings string
			var once bool
			settle := 3 * time.Second
			fs.StringVarP(&w.Kits, "out", "o", "kits", "the folder for the kits")
			fs.StringVar(&w.Done, "done", "done", "the folder that photos and tickets go to when their kit is made")
			fs.StringVar(&w.Failed, "failed", "failed", "the folder they go to when it can't be")
			fs.StringVar(&settings, "settings", "", "a TOML file of what tickets don't say, such as size = \"30x40cm\"")
			fs.BoolVar(&w.Alone, "alone", false, "take photos without a ticket, too")
			fs.BoolVar(&once, "once", false, "make what lies there, and end")
			fs.DurationVar(&settle, "settle", settle, "how long a file has to have been the same before it is taken")
			fs.IntVar(&b.jobs, "jobs", b.jobs, "how many orders at once")
			fs.Var(bytesValue{&b.memory}, "memory", "what one photo may take")
			fs.BoolVar(&b.yes, "yes", false, "make orders even if a size or a pitch looks like a slip of unit")
			b.cards.bind(fs)
			fs.BoolVarP(&b.quiet, "quiet", "q", false, "name only what could not be made")
			order.Bind(fs)
			print.Bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 1, "one folder is needed", "kitwright watch in --out kits"); err != nil {
					return err
				}
				if settings != "" {
					if err := readTOML(fs, settings); err != nil {
						return err
					}
					if err := loadFiles(fs); err != nil {
						return err
					}
				}
				if settle < 0 || settle > time.Hour || b.jobs < 1 || b.jobs > 256 {
					return say.Usage("{settle} 3s is usual", "{settle} takes up to an hour, {jobs} 1 to 256")
				}
				b.rest, b.profile, b.font = maps.Collect(settingsOf(fs)), &print.Shop.Profile, &print.Font
				w.In, w.Settle, w.Shop = args[0], settle, *b.shop(e, args[0])
				w.Tell = teller(e, b.quiet)
				if err := w.Open(); err != nil {
					return err
				}
				return watch(ctx, w, once)
			}
		},
	}
}

func teller(e env, quiet bool) func(sentence string, bad bool) {
	var mu sync.Mutex
	return func(sentence string, bad bool) {
		mu.Lock()
		defer mu.Unlock()
		switch {
		case bad:
			fmt.Fprintln(e.stderr, sentence)
		case !quiet:
			fmt.Fprintln(e.stdout, sentence)
		}
	}
}

// watch looks again and again. Once, it ends when two looks that lie long
// enough apart find nothing ready.
func watch(ctx context.Context, w *shop.Watch, once bool) error {
	every := min(max(w.Settle/3, 50*time.Millisecond), 2*time.Second)
	var idle time.Duration
	for {
		n, err := w.Look(ctx)
		if err != nil {
			return err
		}
		if n > 0 {
			idle = 0
		} else if idle += every; once && idle > w.Settle+2*every {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(every):
		}
	}
}

// readTOML sets the settings of a file where no flag says otherwise.
func readTOML(fs *pflag.FlagSet, path string) error {
	const try = `write a setting a line, such as size = "30x40cm"`
	f, err := input.Open(path, "settings file")
	if err != nil {
		return err
	}
	defer f.Close()
	said := map[string]any{}
	if _, err := toml.NewDecoder(io.LimitReader(f, 1<<20)).Decode(&said); err != nil {
		return say.Failed(try, "%s cannot be read: %s", path, clipped(err.Error()))
	}
	for name, v := range said {
		f := fs.Lookup(name)
		switch v.(type) {
		case string, int64, float64, bool:
		default:
			return say.Failed(try, "%s: %s is neither a text nor a number", path, name)
		}
		if f == nil || name == "settings" {
			if near := setting.Near(name, flagNames(fs)); near != "" {
				return say.Failed(say.Hint("call it %s", near), "%s: %q is no setting", path, name)
			}
			return say.Failed("kitwright help watch lists them", "%s: %q is no setting", path, name)
		}
		if f.Changed {
			continue
		}
		if err := f.Value.Set(fmt.Sprint(v)); err != nil {
			if said, ok := err.(*say.Error); ok {
				return said.At("%s: %s", filepath.Base(path), name)
			}
			return say.Failed(try, "%s: %s does not take %v", path, name, v)
		}
	}
	return nil
}
