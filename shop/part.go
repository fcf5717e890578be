package shop

import (
	"fmt"
	"strconv"
	"strings"

	"kitwright/internal/say"
)

// Part is which orders of a table a run makes: every Of-th, or a single one.
// The zero value is all.
type Part struct {
	Shard int `json:"shard,omitempty"` // 1 to Of
	Of    int `json:"of,omitempty"`
	Row   int `json:"row,omitempty"` // this one alone
}

// Has says whether an order belongs to the part.
func (p Part) Has(o Order) bool {
	switch {
	case p.Row > 0:
		return o.Row == p.Row
	case p.Of > 0:
		return (o.Row-1)%p.Of == p.Shard-1
	}
	return true
}

// suffix is what tells the results of the part from those of others.
func (p Part) suffix() string {
	switch {
	case p.Row > 0:
		return fmt.Sprintf(".row-%d", p.Row)
	case p.Of > 0:
		return fmt.Sprintf(".%d-of-%d", p.Shard, p.Of)
	}
	return ""
}

// Shard is the value of a flag: "2/4", or "auto" and "auto/4", where an engine
// that runs many machines says which.
type Shard struct {
	To  *Part
	Env func(name string) string
}

func (s Shard) String() string {
	if s.To == nil || s.To.Of == 0 {
		return ""
	}
	return fmt.Sprintf("%d/%d", s.To.Shard, s.To.Of)
}

// Type names the value in help.
func (s Shard) Type() string { return "I/N|auto" }

// Set reads the value.
func (s Shard) Set(text string) error {
	const try = "2/4 is the second of four; auto takes it from a Slurm array, auto/4 from a Kubernetes indexed job"
	first, second, slash := strings.Cut(strings.TrimSpace(text), "/")
	n, err := strconv.Atoi(second)
	if slash && (err != nil || n < 1 || n > MaxOrders) {
		return say.Usage(try, "it takes I/N or auto, not %q", text)
	}
	i, err := strconv.Atoi(first)
	switch {
	case first == "auto":
		if i, n, err = fromEngine(s.Env, n); err != nil {
			return err
		}
	case err != nil || !slash || i < 1 || i > n:
		return say.Usage(try, "it takes I/N with I from 1 to N, or auto, not %q", text)
	}
	*s.To = Part{Shard: i, Of: n}
	return nil
}

// fromEngine reads which shard this is from what the engine set: Slurm's array
// variables (sbatch(1), "--array") or the index of a Kubernetes indexed job
// ("JOB_COMPLETION_INDEX", Kubernetes documentation, Jobs). n is 0 where it was
// not given.
func fromEngine(env func(string) string, n int) (shard, of int, err error) {
	number := func(name string, otherwise int) int {
		v, err := strconv.Atoi(env(name))
		if err != nil {
			return otherwise
		}
		return v
	}
	if id := number("SLURM_ARRAY_TASK_ID", -1); id >= 0 {
		step, count := number("SLURM_ARRAY_TASK_STEP", 1), number("SLURM_ARRAY_TASK_COUNT", n)
		least := number("SLURM_ARRAY_TASK_MIN", 1)
		if n > 0 {
			count = n
		}
		if shard = (id-least)/max(1, step) + 1; count < 1 || shard < 1 || shard > count {
			return 0, 0, say.Usage("submit the array as 1-4 and say auto, or give I/N yourself", "the array task %d is no shard of %d", id, count)
		}
		return shard, count, nil
	}
	if index := number("JOB_COMPLETION_INDEX", -1); index >= 0 {
		if n < 1 {
			return 0, 0, say.Usage("auto/N with the job's number of completions", "a Kubernetes job does not say how many shards there are")
		}
		if index >= n {
			return 0, 0, say.Usage("give the job's number of completions behind auto/", "index %d is no shard of %d", index, n)
		}
		return index + 1, n, nil
	}
	return 0, 0, say.Usage("give I/N yourself", "no engine says which shard this is: neither SLURM_ARRAY_TASK_ID nor JOB_COMPLETION_INDEX is set")
}
