// Command choose picks the symbols from the drawings by measurement and
// prints them in order, as chart/symbols/draw/order.txt wants them:
//
//	go run ./chart/symbols/choose > chart/symbols/draw/order.txt
//
// Sixty come first, then all other named shapes that fit in, then codes up to
// a hundred. It needs the font Noto Sans Bold and a few minutes.
package main

import (
	"fmt"
	"log"
	"math/rand"
	"os"
	"os/exec"
	"slices"
	"sort"
	"strings"

	"golang.org/x/image/font/sfnt"

	"kitwright/chart/symbols"
	"kitwright/chart/symbols/draw"
)

// Least distances upright, turned and mirrored: for the first sixty and for
// the rest. Mirrored has no target; it keeps apart what only a mirror tells.
var (
	strict = limits{.15, .08, .06}
	loose  = limits{.123, .075, .05}
)

type limits struct{ up, turn, mirror float64 }

// wanted are set first, as far as they go together: what everybody knows.
var wanted = []string{"heart", "key", "anchor", "star", "umbrella", "moon", "paw", "sailboat", "flower", "music note", "magnifier", "smile"}

// liked and poor are known faster, or slower, than the others.
var (
	liked = strings.Split("sitting cat,arrow,slim arrow,lightning,cherries,bow tie,half moon,two notes,leaf,crown,tulip,butterfly,"+
		"hourglass,clover,bell,mushroom,flag,pennant,dot,ring,plus,thin plus,square,diamond,triangle,open triangle,apple,"+
		"raindrop,cloud,rain cloud,pine tree,bone,bunny,mug,tea cup,candle,light bulb,scissors,glasses,ladder,"+
		"stairs,three bars,two dots,three dots,four dots,five dots,six dots,checkerboard,pinwheel,envelope,horseshoe,magnet,"+
		"sock,shirt,candy,ice cream,airplane,rocket,car,truck,tent,grapes,round arrow,check mark,question mark,exclamation mark,"+
		"cactus,duck,snowman,button,open square,open door,asterisk,fence,waves,coffee bean,fish bone,crab,sprout,chair,hammer,"+
		"comb,rainbow,puzzle piece,gift,palm,tooth,sunrise,ribbon,fork,clock,dog,rake,spade,cat,house,fish", ",")
	poor = strings.Split("banana,swan,gavel,life ring,sand castle,fried egg,scales,telescope,sword,axe,wheelbarrow,"+
		"golf flag,needle,two squares,not equal,caterpillar,mustache,paper clip,boomerang,racket,push pin,joystick,nail,"+
		"hand mirror,saw,pen nib,hurdle,gate,high heel,fishing rod,watering can,seahorse,running dog,tornado,satellite dish,"+
		"igloo,barbell,megaphone", ",")
)

type candidate struct {
	name   string
	view   *symbols.View
	weight int
}

func main() {
	log.SetFlags(0)
	list := candidates()
	d := measure(list)
	var first []int
	for _, n := range wanted {
		i := slices.IndexFunc(list, func(c candidate) bool { return c.name == n })
		if i >= 0 && !slices.ContainsFunc(first, func(j int) bool { return d.near(i, j, strict) }) {
			first = append(first, i)
		}
	}
	near := func(l limits) func(i, j int) bool {
		return func(i, j int) bool { return d.near(i, j, l) }
	}
	s := search(list, near(strict), first, 150000)
	if len(s) < symbols.Sure {
		log.Fatalf("only %d are far enough apart for the first %d", len(s), symbols.Sure)
	}
	rest := s[len(first):]
	sort.SliceStable(rest, func(a, b int) bool { return d.hinders(list, rest[a]) < d.hinders(list, rest[b]) })
	sure := s[:symbols.Sure]
	named := search(list, near(loose), sure, 400000)
	order := d.nest(list, sure, []int{10, 20, 30, 40})
	order = append(order, d.farthest(named[symbols.Sure:], order)...)
	if len(order) > symbols.Max {
		order = order[:symbols.Max]
	}
	for _, i := range order {
		fmt.Println(list[i].name)
	}
	log.Printf("%d named", len(order))
	chosen := make([]*symbols.View, len(order))
	for k, i := range order {
		chosen[k] = list[i].view
	}
	for range symbols.Max - len(order) {
		name, view := farthestMark(chosen)
		fmt.Println(name)
		chosen = append(chosen, view)
	}
}

// farthestMark returns the code that is farthest from all chosen symbols.
func farthestMark(chosen []*symbols.View) (name string, view *symbols.View) {
	top := 0.0
	for _, s := range draw.Marks() {
		v := symbols.Symbol{Paths: s.Paths}.View()
		low := 9.0
		for _, c := range chosen {
			up, turn := v.Distance(c), v.Turned(c)
			low = min(low, up, turn/.6)
			if low <= top || up < loose.up || turn < loose.turn || v.Mirrored(c) < loose.mirror {
				low = 0
				break
			}
		}
		if low > top {
			name, view, top = s.Name, v, low
		}
	}
	if view == nil {
		log.Fatalf("no code is far enough from the first %d", len(chosen))
	}
	return name, view
}

func candidates() []candidate {
	out, err := exec.Command("fc-match", "-f", "%{file}", "Noto Sans:bold").Output()
	if err != nil {
		log.Fatal(err)
	}
	data, err := os.ReadFile(string(out))
	if err != nil {
		log.Fatal(err)
	}
	f, err := sfnt.Parse(data)
	if err != nil {
		log.Fatal(err)
	}
	letters, err := draw.Letters(f)
	if err != nil {
		log.Fatal(err)
	}
	var list []candidate
	for _, s := range slices.Concat(draw.Candidates(), letters) {
		if kept, filled := draw.Prints(s.Paths, .28, .22); kept < .62 || filled > .14 {
			log.Printf("%s has strokes or gaps too thin: %.2f kept, %.2f filled", s.Name, kept, filled)
			continue
		}
		c := candidate{s.Name, symbols.Symbol{Paths: s.Paths}.View(), 100}
		plain := strings.TrimRight(strings.Split(s.Name, "@")[0], "~")
		switch {
		case slices.Contains(liked, plain):
			c.weight += 15
		case slices.Contains(poor, plain):
			c.weight -= 15
		case strings.HasPrefix(plain, "letter ") || strings.HasPrefix(plain, "digit "):
			c.weight -= 6
		}
		if plain != s.Name {
			c.weight -= 2
		}
		list = append(list, c)
	}
	return list
}

// distances are upright, turned and mirrored, for all pairs.
type distances [][][3]float64

func measure(list []candidate) distances {
	d := make(distances, len(list))
	for i := range d {
		d[i] = make([][3]float64, len(list))
		for j := range i {
			a, b := list[i].view, list[j].view
			turn := a.Turned(b)
			d[i][j] = [3]float64{a.Distance(b), turn, min(turn, a.Turned(b.Mirror()))}
			d[j][i] = d[i][j]
		}
	}
	return d
}

func (d distances) near(i, j int, l limits) bool {
	v := d[i][j]
	return v[0] < l.up || v[1] < l.turn || v[2] < l.mirror
}

// hinders is how many others candidate i keeps out, less if it is liked.
func (d distances) hinders(list []candidate, i int) int {
	n := -list[i].weight / 4
	for j := range list {
		if j != i && d.near(i, j, loose) {
			n++
		}
	}
	return n
}

// score makes one number of both distances: turned ones are about .55 of the
// upright ones when a set is filled evenly.
func (d distances) score(i, j int) float64 { return min(d[i][j][0], d[i][j][1]/.55) }

// farthest orders a list so that each next one is as far as can be from those
// before it and from those in after.
func (d distances) farthest(list, after []int) []int {
	left, done := slices.Clone(list), slices.Clone(after)
	for len(left) > 0 {
		best, top := 0, -1.0
		for k, i := range left {
			low := 9.0
			for _, j := range done {
				low = min(low, d.score(i, j))
			}
			if low > top {
				best, top = k, low
			}
		}
		done = append(done, left[best])
		left = slices.Delete(left, best, best+1)
	}
	return done[len(after):]
}

// nest orders a list so that its first 10, 20 and so on are each as far apart
// as can be within the next larger set.
func (d distances) nest(list []candidate, set []int, sizes []int) []int {
	var layers [][]int
	for k := len(sizes) - 1; k >= 0; k-- {
		inner := d.apart(list, set, sizes[k])
		var outer []int
		for _, i := range set {
			if !slices.Contains(inner, i) {
				outer = append(outer, i)
			}
		}
		layers = append(layers, outer)
		set = inner
	}
	order := d.farthest(set[1:], set[:1])
	order = append(set[:1:1], order...)
	for k := len(layers) - 1; k >= 0; k-- {
		order = append(order, d.farthest(layers[k], order)...)
	}
	return order
}

// apart returns the n of the set whose least score is largest, as far as the
// search finds.
func (d distances) apart(list []candidate, set []int, n int) []int {
	sub := make([]candidate, len(set))
	for k, i := range set {
		sub[k] = list[i]
	}
	var best []int
	for t := .14; t < .6; t += .002 {
		got := search(sub, func(a, b int) bool { return d.score(set[a], set[b]) < t }, nil, 30000)
		if len(got) < n {
			break
		}
		best = got
	}
	out := make([]int, n)
	for k := range out {
		out[k] = set[best[k]]
	}
	return out
}

// search returns forced and, by tabu search, as much weight as it finds of
// candidates no two of which are near.
func search(list []candidate, near func(i, j int) bool, forced []int, steps int) []int {
	n := len(list)
	rnd := rand.New(rand.NewSource(1))
	nearby := make([][]int, n)
	free := make([]bool, n)
	for i := range n {
		free[i] = true
		for j := range n {
			if i != j && near(i, j) {
				nearby[i] = append(nearby[i], j)
			}
		}
	}
	for _, i := range forced {
		free[i] = false
		for _, j := range nearby[i] {
			free[j] = false
		}
	}
	in := make([]bool, n)
	load := make([]int, n)  // weight of those in that are near
	until := make([]int, n) // step before which it does not come back
	moved := make([]int, n)
	now, top := 0, -1
	var best []int
	flip := func(i, step int) {
		w := list[i].weight
		if in[i] = !in[i]; !in[i] {
			w = -w
			until[i] = step + 4 + rnd.Intn(12)
		}
		now += w
		moved[i] = step
		for _, j := range nearby[i] {
			load[j] += w
		}
	}
	for step := 1; step <= steps; step++ {
		pick, gain := -1, 0
		for i := range n {
			if !free[i] || in[i] {
				continue
			}
			g := list[i].weight - load[i]
			if until[i] >= step && now+g <= top {
				continue
			}
			if pick < 0 || g > gain || (g == gain && moved[i] < moved[pick]) {
				pick, gain = i, g
			}
		}
		if pick < 0 {
			continue
		}
		for _, j := range nearby[pick] {
			if in[j] {
				flip(j, step)
			}
		}
		flip(pick, step)
		if now > top {
			top, best = now, best[:0]
			for i := range n {
				if in[i] {
					best = append(best, i)
				}
			}
		}
	}
	return append(slices.Clone(forced), best...)
}
