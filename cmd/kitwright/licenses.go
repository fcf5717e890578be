package main

import (
	"context"

	"github.com/spf13/pflag"

	"kitwright/internal/licenses"
	"kitwright/internal/say"
)

func licensesCommand() command {
	return command{
		name: "licenses", summary: "print the licenses of kitwright and of all it carries", example: "kitwright licenses",
		about: "Prints a list of everything that this one file is made of, and each license in full.",
		bind: func(*pflag.FlagSet) func(context.Context, env, []string) error {
			return func(_ context.Context, e env, args []string) error {
				if len(args) > 0 {
					return say.Usage("leave it out", "licenses takes no argument, such as %q", args[0])
				}
				return licenses.Write(e.stdout)
			}
		},
	}
}
