package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
	"kitwright/stash"
)

func stashRepairCommand() command {
	return command{
		name: "stash repair", summary: "say what broken lines of your stash should mean",
		about: `Where the file of your stash was changed by hand, or a disk has lost some of it, the line no
			longer has its checksum: it does not count, and takes wait. repair shows each such line and asks
			whether it counts as it reads now or says nothing. The answers are entries like any other;
			broken lines stay where they are. --keep and --leave answer without being asked. Afterwards,
			count the lots that are named.`,
		example: "kitwright stash repair\nkitwright stash repair --keep 14 --leave 15,16",
		bind: func(fs *pflag.FlagSet) func(context.Context, env, []string) error {
			var run stashRun
			var keep, leave lineList
			fs.Var(&keep, "keep", "lines that count as they read now; all for every one that can be read")
			fs.Var(&leave, "leave", "lines that say nothing, 0 for lines that are missing; all for every one that is not kept")
			run.bindDate(fs)
			run.bind(fs)
			return func(ctx context.Context, e env, args []string) error {
				if err := wantArgs(args, 0, "stash repair takes no arguments", "kitwright stash repair --keep 14"); err != nil {
					return err
				}
				day, err := run.day()
				if err != nil {
					return err
				}
				l, err := stash.Open(run.place.path(run.cards))
				if err != nil {
					return err
				}
				tellNotes(e, l)
				faults := l.Faults()
				if len(faults) == 0 {
					_, err := fmt.Fprintf(e.stdout, "Nothing is broken in %s.\n", l.Path())
					return err
				}
				verdicts, err := judge(e, faults, keep, leave)
				if err != nil {
					return err
				}
				if _, err := l.Repair(ctx, day, verdicts...); err != nil {
					return err
				}
				return tellRepaired(e.stdout, l, verdicts)
			}
		},
	}
}

// judge answers for each fault by what was said beforehand, or asks.
func judge(e env, faults []stash.Fault, keep, leave lineList) (verdicts []stash.Verdict, err error) {
	for _, n := range slices.Concat(keep.lines, leave.lines) {
		if !slices.ContainsFunc(faults, func(f stash.Fault) bool { return f.Line == n }) {
			return nil, say.Usage("kitwright stash list names the broken ones", "line %d is not broken", n)
		}
	}
	for _, f := range faults {
		if f.Says == nil && slices.Contains(keep.lines, f.Line) {
			return nil, say.Usage("leave it out with {leave}, and say what is there with stash count", "line %d cannot be read, so it cannot count", f.Line)
		}
	}
	in := bufio.NewReader(e.stdin)
	for _, f := range faults {
		v := stash.Verdict{Fault: f}
		switch {
		case slices.Contains(keep.lines, f.Line):
			v.Keep = true
		case slices.Contains(leave.lines, f.Line):
		case keep.all && f.Says != nil:
			v.Keep = true
		case leave.all:
		default:
			if v.Keep, err = ask(e.stdout, in, f); err != nil {
				return nil, err
			}
		}
		verdicts = append(verdicts, v)
	}
	return verdicts, nil
}

// ask shows a fault and asks what it should mean.
func ask(w io.Writer, in *bufio.Reader, f stash.Fault) (keep bool, err error) {
	fmt.Fprintf(w, "\n%s\n", f)
	if f.Text != "" {
		fmt.Fprintf(w, "  %s\n", f.Text)
	}
	question := "It cannot be read, or is not there. Go on without it? (y/n) "
	if f.Says != nil {
		question = fmt.Sprintf("As it reads now it says: %s. Does that count? (y: it counts; n: it says nothing; q: leave all as it is) ", lineWords(*f.Says))
	}
	for {
		fmt.Fprint(w, question)
		text, err := in.ReadString('\n')
		switch answer := strings.ToLower(strings.TrimSpace(text)); {
		case answer == "q" || answer == "n" && f.Says == nil:
			return false, say.Failed("", "nothing was changed")
		case answer == "y":
			return f.Says != nil, nil
		case answer == "n":
			return false, nil
		case errors.Is(err, io.EOF):
			return false, say.Failed("answer y or n, or give {keep} or {leave}", "not every broken line was answered for, so nothing was changed")
		case err != nil:
			return false, err
		}
	}
}

// lineWords says what a line does.
func lineWords(x stash.Line) string {
	if x.Code == "" {
		return string(x.Act)
	}
	return fmt.Sprintf("%s %s of %s on %s", x.Act, say.Number(x.Drills), lotWords(x.Key), x.Date)
}

func tellRepaired(w io.Writer, l *stash.Ledger, verdicts []stash.Verdict) error {
	kept, count := 0, map[string]bool{}
	var lots []string
	for _, v := range verdicts {
		if v.Keep {
			kept++
		}
		if s := v.Fault.Says; s != nil && s.Code != "" && !count[lotWords(s.Key)] {
			count[lotWords(s.Key)] = true
			lots = append(lots, fmt.Sprintf("%s: %s", lotWords(s.Key), say.Number(l.Lot(s.Key).Drills)))
		}
	}
	fmt.Fprintf(w, "%s counted as it reads now, %d left out. Nothing was deleted.\n", say.Count(kept, "line"), len(verdicts)-kept)
	if len(lots) > 0 {
		fmt.Fprintf(w, "Count these, and correct them with kitwright stash count:\n  %s\n", strings.Join(lots, "\n  "))
	}
	if kept < len(verdicts) && len(lots) == 0 {
		fmt.Fprintf(w, "What the lost lines said is not known: count your drills when you can.\n")
	}
	return nil
}

// lineList is a flag's value for numbers of lines.
type lineList struct {
	lines []int
	all   bool
}

func (l *lineList) String() string {
	var parts []string
	for _, n := range l.lines {
		parts = append(parts, strconv.Itoa(n))
	}
	if l.all {
		parts = append(parts, "all")
	}
	return strings.Join(parts, ",")
}

func (l *lineList) Set(s string) error {
	for _, part := range strings.Split(s, ",") {
		part = strings.TrimSpace(part)
		if strings.EqualFold(part, "all") {
			l.all = true
			continue
		}
		n, err := strconv.Atoi(part)
		if err != nil || n < 0 {
			return say.Usage("the numbers are those that kitwright stash list tells", "%q is not a number of a line", part)
		}
		l.lines = append(l.lines, n)
	}
	return nil
}

func (l *lineList) Type() string { return "LINE,..." }
