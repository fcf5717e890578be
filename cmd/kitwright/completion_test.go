package main

import (
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/shell"

	"kitwright/internal/checker"
)

// offered is what a shell has to offer after each beginning.
var offered = []struct {
	typed []string // the last one is being typed
	want  []string // among what is offered
	not   string
}{
	{[]string{"kitwright", "la"}, []string{"ladder"}, "chart"},
	{[]string{"kitwright", "chart", "--ca"}, []string{"--card", "--calm", "--caption"}, "--size"},
	{[]string{"kitwright", "chart", "--drill", ""}, []string{"square", "round"}, "--size"},
	{[]string{"kitwright", "chart", "--size", "30x40cm", "--drill", "r"}, []string{"round"}, "square"},
	{[]string{"kitwright", "card", ""}, []string{"list", "show", "import"}, "chart"},
	{[]string{"kitwright", "card", "show", "--j"}, []string{"--json"}, "--size"},
	{[]string{"kitwright", "help", "test"}, []string{"testprint"}, "chart"},
	{[]string{"kitwright", "completion", "f"}, []string{"fish"}, "bash"},
	{[]string{"kitwright", "print", "--units", ""}, []string{"cm", "in"}, "mm"},
}

// The shells themselves load the scripts and offer what there is.
func TestShellsComplete(t *testing.T) {
	dir := inTemp(t)
	for _, shell := range shells {
		code, out, errs := kitwright(t, "completion", shell)
		require.Equal(t, 0, code, errs)
		require.NoError(t, os.WriteFile(shell, []byte(out), 0o666))
		for _, c := range commands() {
			assert.Contains(t, out, c.name)
			fs := pflag.NewFlagSet(c.name, pflag.ContinueOnError)
			c.bind(fs)
			fs.VisitAll(func(f *pflag.Flag) { assert.Contains(t, out, f.Name) })
		}
	}
	quoted := func(words []string) string {
		out := make([]string, len(words))
		for i, w := range words {
			out[i] = shell.Word(w, false)
		}
		return strings.Join(out, " ")
	}
	check := func(shell string, ask func(typed []string) *exec.Cmd) {
		t.Run(shell, func(t *testing.T) {
			checker.Need(t, shell)
			for _, c := range offered {
				cmd := ask(c.typed)
				cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir, "XDG_DATA_HOME="+dir)
				out, err := cmd.CombinedOutput()
				require.NoError(t, err, "%v: %s", c.typed, out)
				var got []string
				for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
					word, _, _ := strings.Cut(line, "\t")
					got = append(got, word)
				}
				for _, want := range c.want {
					assert.Contains(t, got, want, "%v", c.typed)
				}
				assert.NotContains(t, got, c.not, "%v", c.typed)
			}
		})
	}
	check("bash", func(typed []string) *exec.Cmd {
		return exec.Command("bash", "--norc", "-c", `set -u; source ./bash; COMP_WORDS=(`+quoted(typed)+`); COMP_CWORD=$((${#COMP_WORDS[@]}-1)); _kitwright; printf '%s\n' "${COMPREPLY[@]}"`)
	})
	check("zsh", func(typed []string) *exec.Cmd {
		// Without a terminal zsh completes nothing: its builtin is replaced by
		// one that filters as it does.
		return exec.Command("zsh", "-f", "-c", `compdef() { :; }; _files() { :; }
			compadd() { shift; local w; for w in "$@"; do [[ $w == "$PREFIX"* ]] && print -r -- "$w"; done; true }
			source ./zsh; words=(`+quoted(typed)+`); CURRENT=$#words; PREFIX="$words[-1]"; _kitwright`)
	})
	check("fish", func(typed []string) *exec.Cmd {
		return exec.Command("fish", "--no-config", "-c", `source ./fish; complete -C `+shell.Word(strings.Join(typed, " "), false))
	})
}

// PowerShell is in no Debian package, so its script is read here instead of run:
// its three tables, and the rule at its end that chooses among them, followed step
// by step. What PowerShell itself makes of it nobody has tried.
func TestPowerShellOffersTheSame(t *testing.T) {
	code, script, errs := kitwright(t, "completion", "powershell")
	require.Equal(t, 0, code, errs)
	assert.Equal(t, strings.Count(script, "{"), strings.Count(script, "}"))
	assert.Equal(t, strings.Count(script, "("), strings.Count(script, ")"))
	tables, now := map[string]map[string][]string{}, ""
	head := regexp.MustCompile(`^  \$(\w+) = @\{$`)
	entry := regexp.MustCompile(`^    '((?:[^']|'')*)' = @\(((?:'(?:[^']|'')*'(?:, )?)*)\)$`)
	for _, line := range strings.Split(script, "\n") {
		if m := head.FindStringSubmatch(line); m != nil {
			now = m[1]
			tables[now] = map[string][]string{}
		} else if line == "  }" {
			now = ""
		} else if now != "" {
			m := entry.FindStringSubmatch(line)
			require.NotNil(t, m, line)
			key := strings.ToLower(m[1]) // its tables know no capitals, and no key twice
			require.NotContains(t, tables[now], key)
			var words []string
			for _, w := range strings.Split(m[2], ", ") {
				if w != "" {
					words = append(words, strings.Trim(w, "'"))
				}
			}
			tables[now][key] = words
		}
	}
	require.Len(t, tables, 3)
	for _, c := range offered {
		at, prev, last := "", "", c.typed[len(c.typed)-1]
		for _, word := range c.typed[1 : len(c.typed)-1] {
			prev = word
			longer := strings.TrimSpace(at + " " + prev)
			if _, ok := tables["flags"][longer]; ok {
				at = longer
			}
		}
		offer, ok := tables["values"][at+" "+prev]
		if !ok && strings.HasPrefix(last, "-") {
			offer = tables["flags"][at]
		} else if !ok {
			offer = tables["words"][at]
		}
		var got []string
		for _, w := range offer {
			if strings.HasPrefix(w, last) {
				got = append(got, w)
			}
		}
		for _, want := range c.want {
			assert.Contains(t, got, want, "%v", c.typed)
		}
		assert.NotContains(t, got, c.not, "%v", c.typed)
	}
}

// Every manual page is well formed.
func TestManualPages(t *testing.T) {
	inTemp(t)
	pages := [][]string{{}}
	var walk func(from []command)
	walk = func(from []command) {
		for _, c := range from {
			pages = append(pages, strings.Fields(c.name))
			walk(c.parts)
		}
	}
	walk(commands())
	for _, words := range pages {
		code, out, errs := kitwright(t, append([]string{"man"}, words...)...)
		require.Equal(t, 0, code, errs)
		assert.Contains(t, out, ".SH EXIT STATUS", "%v", words)
		require.NoError(t, os.WriteFile("page.1", []byte(out), 0o666))
		if _, err := exec.LookPath("mandoc"); err == nil { // otherwise the last line says so
			said, err := exec.Command("mandoc", "-Tlint", "-W", "warning", "page.1").CombinedOutput()
			assert.NoError(t, err, "%v: %s", words, said)
			assert.Empty(t, string(said), "%v", words)
			text, err := exec.Command("mandoc", "-Tutf8", "page.1").Output()
			require.NoError(t, err)
			assert.NotContains(t, string(text), `\e`)
		}
	}
	code, _, errs := kitwright(t, "man", "chrt")
	assert.Equal(t, 2, code)
	assert.Contains(t, errs, "Try: kitwright chart; ")
	checker.Need(t, "mandoc")
}

// The help tells what the program ends with.
func TestHelpTellsExitCodes(t *testing.T) {
	_, out, _ := kitwright(t, "help")
	for _, c := range exitCodes {
		assert.Contains(t, out, "  "+c[0]+" ")
	}
}
