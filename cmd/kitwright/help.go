package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/setting"
)

// helpWidth is how wide help is set, in characters.
const helpWidth = 84

func helpCommand() command {
	return command{
		name: "help", args: "[COMMAND]", summary: "explain a command and its flags", example: "kitwright help chart",
		about: "Explains kitwright, or one command with all its flags.",
		bind: func(*pflag.FlagSet) func(context.Context, env, []string) error {
			return func(_ context.Context, e env, args []string) error {
				if len(args) == 0 {
					writeOverview(e.stdout)
					return nil
				}
				if c, rest, ok := find(commands(), args); ok && len(rest) == 0 {
					c.writeHelp(e.stdout)
					return nil
				}
				return noCommand(strings.Join(args, " "))
			}
		},
	}
}

// overviewText is what kitwright is.
const overviewText = `kitwright makes a drill-painting kit (also called diamond painting) from your own photo:
	a true-scale chart in real drill colors, and the prints and lists to make it. Everything stays on
	this machine.`

// writeOverview tells what kitwright is and what it can be asked.
func writeOverview(w io.Writer) {
	for _, line := range wrap(overviewText, helpWidth) {
		fmt.Fprintln(w, line)
	}
	fmt.Fprint(w, "\n  kitwright COMMAND [FLAGS] [ARGUMENTS]\n\n")
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-27s %s\n", strings.TrimSpace(c.name+" "+c.args), c.summary)
	}
	fmt.Fprint(w, `
Begin with the demo:    kitwright chart --demo
Then with your photo:   kitwright chart --size 40x50cm --colors 30 cat.jpg
All flags of a command: kitwright help chart

It ends with
`)
	for _, c := range exitCodes {
		fmt.Fprintf(w, "  %-4s %s\n", c[0], c[1])
	}
}

// writeHelp explains one command.
func (c command) writeHelp(w io.Writer) {
	fs := pflag.NewFlagSet(c.name, pflag.ContinueOnError)
	fs.SortFlags = false
	c.bind(fs)

	flags := ""
	if fs.HasFlags() {
		flags = " [FLAGS]"
	}
	fmt.Fprintf(w, "kitwright %s%s %s\n\n", c.name, flags, c.args)
	for _, line := range wrap(c.about, helpWidth) {
		fmt.Fprintln(w, line)
	}
	if len(c.parts) > 0 {
		fmt.Fprintln(w)
	}
	for _, part := range c.parts {
		fmt.Fprintf(w, "  %s\n", strings.TrimSpace(part.name+" "+part.args))
		for _, line := range wrap(part.summary, helpWidth-6) {
			fmt.Fprintf(w, "      %s\n", line)
		}
	}
	fmt.Fprintf(w, "\nFor example:\n  %s\n", strings.ReplaceAll(c.example, "\n", "\n  "))

	var groups []string
	byGroup := map[string][]*pflag.Flag{}
	fs.VisitAll(func(f *pflag.Flag) {
		g := "This run"
		if of := setting.GroupOf(f); of != "" {
			g = of
		}
		if byGroup[g] == nil {
			groups = append(groups, g)
		}
		byGroup[g] = append(byGroup[g], f)
	})
	for _, g := range groups {
		fmt.Fprintf(w, "\n%s\n", g)
		for _, f := range byGroup[g] {
			writeFlag(w, f)
		}
	}
}

// writeFlag writes a flag with its value's kind and default, the explanation
// hung to the right.
func writeFlag(w io.Writer, f *pflag.Flag) {
	const indent = 24
	name, usage := flagWords(f)
	lines := wrap(usage, helpWidth-indent)
	if len(name)+2 >= indent-1 {
		fmt.Fprintf(w, "  %s\n", name)
	} else {
		fmt.Fprintf(w, "  %-*s%s\n", indent-2, name, lines[0])
		lines = lines[1:]
	}
	for _, line := range lines {
		fmt.Fprintf(w, "%*s%s\n", indent, "", line)
	}
}

// wrap breaks text into lines of at most width characters where it can.
func wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > width {
			lines = append(lines, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	return append(lines, line)
}
