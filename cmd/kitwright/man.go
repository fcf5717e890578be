package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/internal/setting"
)

func manCommand() command {
	return command{
		name: "man", args: "[COMMAND]", summary: "print the manual page of kitwright, or of a command",
		about: `Prints a page for the system's manual, made from the same words as the help. To read one at
			once: kitwright man chart | man -l -`,
		example: "kitwright man > kitwright.1\nkitwright man card import > kitwright-card-import.1",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var list bool
			fs.BoolVar(&list, "list", false, "print the commands that have a page, one a line")
			return func(_ context.Context, e env, args []string) error {
				if list {
					if err := wantArgs(args, 0, "man --list takes no arguments", "kitwright man --list"); err != nil {
						return err
					}
					for _, c := range completions()[1:] {
						fmt.Fprintln(e.stdout, c.path)
					}
					return nil
				}
				if len(args) == 0 {
					writeManual(e.stdout)
					return nil
				}
				c, rest, ok := find(commands(), args)
				if !ok || len(rest) > 0 {
					return noCommand(strings.Join(args, " "))
				}
				c.writeManual(e.stdout)
				return nil
			}
		},
	}
}

// exitCodes are told in the help and in the manual.
var exitCodes = [][2]string{
	{"0", "done, or made already"},
	{"1", "it could not be done: a file, a disk"},
	{"2", "the request cannot be met as it stands: a flag, a value"},
	{"130", "ended by Ctrl-C; 129 and 143 by a closed terminal or a stop"},
}

// roff writes text so that no character of it is taken for a command of roff.
func roff(s string) string {
	s = strings.NewReplacer(`\`, `\e`, "-", `\-`, "'", `\(aq`, "`", `\(ga`, "^", `\(ha`, "~", `\(ti`).Replace(s)
	if strings.HasPrefix(s, ".") {
		s = `\&` + s
	}
	return s
}

// paragraph writes text in lines of a length that editors like.
func paragraph(w io.Writer, text string) {
	for _, line := range wrap(text, 78) {
		fmt.Fprintln(w, roff(line))
	}
}

func manHead(w io.Writer, name, summary string) {
	page := "kitwright"
	if name != "" {
		page += "-" + strings.ReplaceAll(name, " ", "-")
	}
	fmt.Fprintf(w, ".TH %s 1 %s \"kitwright %s\" \"kitwright manual\"\n.SH NAME\n%s \\- %s\n", strings.ToUpper(roff(page)), released, version, roff(page), roff(summary))
}

func manExamples(w io.Writer, example string) {
	fmt.Fprint(w, ".SH EXAMPLES\n.nf\n")
	for _, line := range strings.Split(example, "\n") {
		fmt.Fprintln(w, roff(line))
	}
	fmt.Fprint(w, ".fi\n")
}

func manExitCodes(w io.Writer) {
	fmt.Fprint(w, ".SH EXIT STATUS\n")
	for _, c := range exitCodes {
		fmt.Fprintf(w, ".TP\n.B %s\n", c[0])
		paragraph(w, c[1]+".")
	}
}

func writeManual(w io.Writer) {
	manHead(w, "", "drill painting kits from your own photo")
	fmt.Fprint(w, ".SH SYNOPSIS\n.B kitwright\n.I command\n[flags] [arguments]\n.SH DESCRIPTION\n")
	paragraph(w, overviewText)
	fmt.Fprint(w, ".SH COMMANDS\n")
	for _, c := range commands() {
		fmt.Fprintf(w, ".TP\n.B %s\n", roff(strings.TrimSpace(c.name+" "+c.args)))
		paragraph(w, c.summary+".")
	}
	manExamples(w, "kitwright chart --demo\nkitwright chart --size 40x50cm --colors 30 cat.jpg\nkitwright help chart")
	manExitCodes(w)
}

func (c command) writeManual(w io.Writer) {
	manHead(w, c.name, c.summary)
	fs := pflag.NewFlagSet(c.name, pflag.ContinueOnError)
	fs.SortFlags = false
	c.bind(fs)
	fmt.Fprintf(w, ".SH SYNOPSIS\n.B kitwright %s\n", roff(c.name))
	if fs.HasFlags() {
		fmt.Fprint(w, "[flags]\n")
	}
	if c.args != "" {
		fmt.Fprintf(w, ".I %s\n", roff(c.args))
	}
	fmt.Fprint(w, ".SH DESCRIPTION\n")
	paragraph(w, c.about)
	for _, part := range c.parts {
		fmt.Fprintf(w, ".TP\n.B %s\n", roff(strings.TrimSpace(part.name+" "+part.args)))
		paragraph(w, part.summary+".")
	}
	if fs.HasFlags() {
		fmt.Fprint(w, ".SH FLAGS\n")
	}
	group := ""
	fs.VisitAll(func(f *pflag.Flag) {
		if g := setting.GroupOf(f); g != group {
			group = g
			fmt.Fprintf(w, ".SS %s\n", roff(g))
		}
		name, usage := flagWords(f)
		fmt.Fprintf(w, ".TP\n.B %s\n", roff(name))
		paragraph(w, usage+".")
	})
	manExamples(w, c.example)
	manExitCodes(w)
}

// flagWords returns how a flag is written and explained.
func flagWords(f *pflag.Flag) (name, usage string) {
	name = "--" + f.Name
	if f.Shorthand != "" {
		name = "-" + f.Shorthand + ", " + name
	}
	if kind := f.Value.Type(); kind == "string" {
		name += " DIR"
	} else if kind != "bool" && f.NoOptDefVal != "" { // may stand alone
		name += "[=" + kind + "]"
	} else if kind != "bool" {
		name += " " + kind
	}
	usage = say.Reading(f.Usage).Words(asFlag)
	if f.DefValue != "" && f.DefValue != "false" && f.DefValue != "auto" {
		usage += " (" + f.DefValue + " unless given)"
	}
	return name, usage
}
