package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/internal/setting"
)

// command is one word after "kitwright".
type command struct {
	name    string
	args    string // what follows the name, for the help
	summary string // one line of the overview
	about   string // what the help says above the flags
	example string // one real call
	bind    func(fs *pflag.FlagSet) func(ctx context.Context, e env, args []string) error
	parts   []command // commands of two words, such as "card list"
}

// find returns the command that the arguments name, of one word or two, and
// the arguments after it.
func find(from []command, args []string) (c command, rest []string, ok bool) {
	for _, c := range from {
		if len(args) == 0 || c.name[strings.LastIndexByte(c.name, ' ')+1:] != args[0] {
			continue
		}
		if part, rest, ok := find(c.parts, args[1:]); ok {
			return part, rest, true
		}
		return c, args[1:], true
	}
	return command{}, nil, false
}

// commands returns every command in the order of the overview.
func commands() []command {
	return []command{
		serveCommand(),
		lookCommand(), chartCommand(), ladderCommand(), printCommand(), editCommand(), testPrintCommand(), planCommand(), doneCommand(), leftCommand(),
		cardCommand(),
		stashCommand(),
		poolCommand(),
		batchCommand(), watchCommand(), gangCommand(),
		setCommand(), completionCommand(), manCommand(), licensesCommand(), versionCommand(), helpCommand(),
	}
}

// call parses the arguments and runs the command.
func (c command) call(ctx context.Context, e env, args []string) error {
	fs := pflag.NewFlagSet(c.name, pflag.ContinueOnError)
	fs.SortFlags = false
	fs.SetOutput(io.Discard)
	fs.Usage = func() {}
	do := c.bind(fs)
	if err := fs.Parse(args); err != nil {
		if errors.Is(err, pflag.ErrHelp) {
			c.writeHelp(e.stdout)
			return nil
		}
		return c.flagError(fs, err)
	}
	if err := applySettings(fs); err != nil {
		return err
	}
	if err := loadFiles(fs); err != nil {
		return err
	}
	return do(ctx, e, fs.Args())
}

// flagError says in our words what pflag found wrong.
func (c command) flagError(fs *pflag.FlagSet, err error) error {
	help := "kitwright help " + c.name + " lists the flags"
	var unknown *pflag.NotExistError
	var invalid *pflag.InvalidValueError
	var missing *pflag.ValueRequiredError
	switch {
	case errors.As(err, &unknown):
		name := "--" + unknown.GetSpecifiedName()
		if unknown.GetSpecifiedShortnames() != "" {
			name = "-" + unknown.GetSpecifiedName()
		}
		if near := setting.Near(unknown.GetSpecifiedName(), flagNames(fs)); near != "" {
			help = say.Hint("%s; %s", say.Setting(near), help)
		}
		return say.Usage(help, "%s has no flag %s", c.name, name)
	case errors.As(err, &missing):
		return say.Usage(help, "%s needs a value", say.Setting(missing.GetFlag().Name))
	case errors.As(err, &invalid):
		var said *say.Error
		if errors.As(invalid.Unwrap(), &said) {
			return said.At("%s", say.Setting(invalid.GetFlag().Name)).OrTry(help)
		}
		return say.Usage(help, "%s does not take %q", say.Setting(invalid.GetFlag().Name), invalid.GetValue())
	}
	return say.Usage(help, "%s", err)
}

func flagNames(fs *pflag.FlagSet) (names []string) {
	fs.VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	return names
}

// asFlag is how the command writes a setting.
func asFlag(setting string) string { return "--" + setting }

// wantArgs refuses a wrong number of arguments.
func wantArgs(args []string, n int, what, try string) error {
	if len(args) == n {
		return nil
	}
	return say.Usage(try, "%s, not %d", what, len(args))
}

// build tells the revision of the source that the program was made of, if it is
// known: " (build 1f3c...)".
func build() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	revision, changed := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			revision = s.Value[:min(12, len(s.Value))]
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = ", changed"
		}
	}
	if revision == "" {
		return ""
	}
	return " (build " + revision + changed + ")"
}

func versionCommand() command {
	return command{
		name: "version", summary: "say which release this is", example: "kitwright version",
		about: `Says which release this is. The same release, photo and settings give the same bytes on
			every machine. One setting may come from the machine: the paper of the pages for your own
			printer follows the region your system is set to (LC_ALL, LC_PAPER, LANG) unless --paper is
			given; kit.json says which it was.`,
		bind: func(*pflag.FlagSet) func(context.Context, env, []string) error {
			return func(_ context.Context, e env, args []string) error {
				if err := wantArgs(args, 0, "version takes no arguments", "kitwright version"); err != nil {
					return err
				}
				_, err := fmt.Fprintln(e.stdout, "kitwright", version+build())
				return err
			}
		},
	}
}

// loadFiles reads the files that settings name.
func loadFiles(fs *pflag.FlagSet) (err error) {
	fs.VisitAll(func(f *pflag.Flag) {
		v, ok := f.Value.(interface {
			Wants() string
			Load(data []byte) error
		})
		if !ok || v.Wants() == "" || err != nil {
			return
		}
		file, ferr := input.Open(v.Wants(), strings.ReplaceAll(f.Name, "-", " "))
		if ferr != nil {
			err = ferr
			return
		}
		defer file.Close()
		data, ferr := io.ReadAll(io.LimitReader(file, maxSettingFile+1))
		switch {
		case ferr != nil:
			err = say.File("the file cannot be read", v.Wants(), ferr)
		case len(data) > maxSettingFile:
			err = say.Failed("look whether it is the right file", "%s is over %d MB", v.Wants(), maxSettingFile>>20)
		default:
			err = v.Load(data)
		}
	})
	return err
}

// maxSettingFile is more than any profile has.
const maxSettingFile = 32 << 20
