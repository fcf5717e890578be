package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/say"
)

func completionCommand() command {
	return command{
		name: "completion", args: "SHELL", summary: "print what completes commands and flags in your shell",
		about: `For bash, zsh, fish and powershell: prints a script that completes commands, flags and their words when you press the tab key.
			Load it from your shell's own start file; the first lines of each script say how.`,
		example: "source <(kitwright completion bash)\nkitwright completion fish > ~/.config/fish/completions/kitwright.fish",
		bind: func(*pflag.FlagSet) func(context.Context, env, []string) error {
			return func(_ context.Context, e env, args []string) error {
				const try = "kitwright completion bash"
				if err := wantArgs(args, 1, "one shell is needed", try); err != nil {
					return err
				}
				write := map[string]func(io.Writer, []completed){
					"bash": completeBash, "zsh": completeZsh, "fish": completeFish, "powershell": completePowerShell,
				}[args[0]]
				if write == nil {
					return say.Usage(try, "it completes in %s, not in %q", strings.Join(shells, ", "), args[0])
				}
				write(e.stdout, completions())
				return nil
			}
		},
	}
}

var shells = []string{"bash", "zsh", "fish", "powershell"}

// completed is a command as a shell completes it.
type completed struct {
	path    string // the words of the command; "" is the program itself
	summary string
	words   []string // what may follow: commands
	flags   []completedFlag
}

type completedFlag struct {
	name, short, usage string
	value              bool
	words              []string // the values it takes, if they are words
}

// completions returns the program itself and every command.
func completions() []completed {
	root := completed{}
	out := []completed{root}
	var walk func(from []command, parent int)
	walk = func(from []command, parent int) {
		for _, c := range from {
			out[parent].words = append(out[parent].words, c.name[strings.LastIndexByte(c.name, ' ')+1:])
			fs := pflag.NewFlagSet(c.name, pflag.ContinueOnError)
			fs.SortFlags = false
			c.bind(fs)
			done := completed{path: c.name, summary: c.summary}
			if c.name == "completion" {
				done.words = shells
			}
			fs.VisitAll(func(f *pflag.Flag) {
				done.flags = append(done.flags, completedFlag{f.Name, f.Shorthand, say.Reading(f.Usage).Words(asFlag), f.Value.Type() != "bool" && f.NoOptDefVal == "", choices(f.Value.Type())})
			})
			done.flags = append(done.flags, completedFlag{name: "help", short: "h", usage: "explain the command"})
			out = append(out, done)
			walk(c.parts, len(out)-1)
		}
	}
	walk(commands(), 0)
	for i, c := range out {
		if c.path == "help" {
			out[i].words = out[0].words
		}
	}
	return out
}

// choices returns the words of a kind such as "cm|in"; none if it takes more
// than words.
func choices(kind string) []string {
	words := strings.Split(kind, "|")
	if len(words) < 2 {
		return nil
	}
	for _, w := range words {
		if w == "" || strings.Trim(w, "abcdefghijklmnopqrstuvwxyz-0123456789") != "" {
			return nil
		}
	}
	return words
}

func (c completed) flagWords() string {
	var out []string
	for _, f := range c.flags {
		out = append(out, "--"+f.name)
	}
	return strings.Join(out, " ")
}

// completeBash and completeZsh find the command among the words typed, then
// offer flags, a flag's words, commands, or files.
func completeBash(w io.Writer, all []completed) {
	fmt.Fprint(w, `# Completes kitwright in bash: source <(kitwright completion bash)
_kitwright() {
  local cur="${COMP_WORDS[COMP_CWORD]}" prev="" at="" i word
  (( COMP_CWORD > 0 )) && prev="${COMP_WORDS[COMP_CWORD-1]}"
  for (( i = 1; i < COMP_CWORD; i++ )); do
    word="${COMP_WORDS[i]}"
    case "${at:+$at }$word" in
`)
	writeShellCases(w, all)
	fmt.Fprint(w, `  esac
  if [[ -n $values ]]; then
    COMPREPLY=( $(compgen -W "$values" -- "$cur") )
  elif [[ $cur == -* ]]; then
    COMPREPLY=( $(compgen -W "$flags" -- "$cur") )
  elif [[ -n $words ]]; then
    COMPREPLY=( $(compgen -W "$words" -- "$cur") )
  else
    COMPREPLY=( $(compgen -f -- "$cur") )
  fi
}
complete -o filenames -o bashdefault -F _kitwright kitwright
`)
}

func completeZsh(w io.Writer, all []completed) {
	fmt.Fprint(w, `#compdef kitwright
# Completes kitwright in zsh: kitwright completion zsh > "${fpath[1]}/_kitwright"
_kitwright() {
  local cur="${words[CURRENT]}" prev="${words[CURRENT-1]}" at="" i word
  local -a typed; typed=("${words[@]}")
  for (( i = 2; i < CURRENT; i++ )); do
    word="${typed[i]}"
    case "${at:+$at }$word" in
`)
	writeShellCases(w, all)
	fmt.Fprint(w, `  esac
  if [[ -n $values ]]; then
    compadd -- ${=values}
  elif [[ $cur == -* ]]; then
    compadd -- ${=flags}
  elif [[ -n $words ]]; then
    compadd -- ${=words}
  else
    _files
  fi
}
if [[ $zsh_eval_context == *loadautofunc* ]]; then _kitwright "$@"; else compdef _kitwright kitwright; fi
`)
}

// writeShellCases writes how the command is found among the words, and, for
// each, its flags, its commands, and the words of the flag before the cursor.
func writeShellCases(w io.Writer, all []completed) {
	for _, c := range all[1:] {
		fmt.Fprintf(w, "      %q) at=%q ;;\n", c.path, c.path)
	}
	fmt.Fprint(w, "    esac\n  done\n  local flags=\"\" words=\"\"\n  case \"$at\" in\n")
	for _, c := range all {
		fmt.Fprintf(w, "    %q) flags=%q; words=%q ;;\n", c.path, c.flagWords(), strings.Join(c.words, " "))
	}
	fmt.Fprint(w, "  esac\n  local values=\"\"\n  case \"$at $prev\" in\n")
	for _, c := range all {
		for _, f := range c.flags {
			if len(f.words) > 0 {
				fmt.Fprintf(w, "    %q) values=%q ;;\n", c.path+" --"+f.name, strings.Join(f.words, " "))
			}
		}
	}
}

func completeFish(w io.Writer, all []completed) {
	quote := func(s string) string {
		return "'" + strings.NewReplacer(`\`, `\\`, "'", `\'`).Replace(s) + "'"
	}
	fmt.Fprint(w, `# Completes kitwright in fish: kitwright completion fish > ~/.config/fish/completions/kitwright.fish
function __kitwright_at
  set -l typed (commandline -opc)
  set -l at
  for word in $typed[2..-1]
    switch (string join ' ' -- $at $word)
      case`)
	for _, c := range all[1:] {
		fmt.Fprint(w, " "+quote(c.path))
	}
	fmt.Fprint(w, `
        set -a at $word
    end
  end
  test "$at" = "$argv[1]"
end
`)
	for _, c := range all {
		when := quote("__kitwright_at " + quote(c.path))
		for _, word := range c.words {
			summary := ""
			for _, sub := range all {
				if sub.path == strings.TrimSpace(c.path+" "+word) {
					summary = sub.summary
				}
			}
			fmt.Fprintf(w, "complete -c kitwright -f -n %s -a %s -d %s\n", when, quote(word), quote(summary))
		}
		for _, f := range c.flags {
			fmt.Fprintf(w, "complete -c kitwright -n %s -l %s", when, f.name)
			if f.short != "" {
				fmt.Fprintf(w, " -s %s", f.short)
			}
			switch {
			case len(f.words) > 0:
				fmt.Fprintf(w, " -x -a %s", quote(strings.Join(f.words, " ")))
			case f.value:
				fmt.Fprint(w, " -r")
			}
			fmt.Fprintf(w, " -d %s\n", quote(f.usage))
		}
	}
}

func completePowerShell(w io.Writer, all []completed) {
	quote := func(s string) string { return "'" + strings.ReplaceAll(s, "'", "''") + "'" }
	list := func(words []string) string {
		quoted := make([]string, len(words))
		for i, word := range words {
			quoted[i] = quote(word)
		}
		return "@(" + strings.Join(quoted, ", ") + ")"
	}
	fmt.Fprint(w, `# Completes kitwright in PowerShell: kitwright completion powershell | Out-String | Invoke-Expression
Register-ArgumentCompleter -Native -CommandName kitwright, kitwright.exe -ScriptBlock {
  param($wordToComplete, $commandAst, $cursorPosition)
  $words = @{
`)
	for _, c := range all {
		fmt.Fprintf(w, "    %s = %s\n", quote(c.path), list(c.words))
	}
	fmt.Fprint(w, "  }\n  $flags = @{\n")
	for _, c := range all {
		fmt.Fprintf(w, "    %s = %s\n", quote(c.path), list(strings.Fields(c.flagWords())))
	}
	fmt.Fprint(w, "  }\n  $values = @{\n")
	for _, c := range all {
		for _, f := range c.flags {
			if len(f.words) > 0 {
				fmt.Fprintf(w, "    %s = %s\n", quote(c.path+" --"+f.name), list(f.words))
			}
		}
	}
	fmt.Fprint(w, `  }
  $at = ''
  $prev = ''
  foreach ($element in $commandAst.CommandElements | Select-Object -Skip 1) {
    if ($element.Extent.EndOffset -ge $cursorPosition) { break }
    $prev = $element.ToString()
    $longer = ($at + ' ' + $prev).Trim()
    if ($flags.ContainsKey($longer)) { $at = $longer }
  }
  if ($values.ContainsKey($at + ' ' + $prev)) { $offer = $values[$at + ' ' + $prev] }
  elseif ($wordToComplete.StartsWith('-')) { $offer = $flags[$at] }
  else { $offer = $words[$at] }
  $offer | Where-Object { $_ -like "$wordToComplete*" } | ForEach-Object {
    [System.Management.Automation.CompletionResult]::new($_, $_, 'ParameterValue', $_)
  }
}
`)
}
