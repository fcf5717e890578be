package plan

// Mix is the cheapest mix of bags for a number of drills.
type Mix struct {
	Bags   []int // how many of each of the sizes; nil where none are told
	InBags int   // drills that are sure to be in them
	Price  Price
}

// Mix returns the bags to buy for so many drills of one color: the cheapest of
// all mixes, exactly. Settings that Check refuses must not come here.
func (s Supply) Mix(drills int) (m Mix) {
	if len(s.Bags.Sizes) == 0 {
		return m
	}
	m.Bags = s.cheapest(drills)
	for i, n := range m.Bags {
		m.InBags += n * s.sure(s.Bags.Sizes[i])
		m.Price += Price(n) * s.Bags.Sizes[i].Price
	}
	return m
}

// Share parts a price by weights so that the parts add up to it: each gets its
// share rounded down, and what is left over goes to the largest rests, the
// first of equals. Where all weights are zero, the first gets all.
func Share(all Price, weights []int) []Price {
	parts, rests := make([]Price, len(weights)), make([]int64, len(weights))
	sum := int64(0)
	for _, w := range weights {
		sum += int64(w)
	}
	left := all
	for i, w := range weights {
		if sum > 0 {
			parts[i], rests[i] = Price(int64(all)*int64(w)/sum), int64(all)*int64(w)%sum
			left -= parts[i]
		}
	}
	for ; left > 0 && len(parts) > 0; left-- {
		best := 0
		for i := range rests {
			if rests[i] > rests[best] {
				best = i
			}
		}
		if sum == 0 {
			parts[0] += left
			break
		}
		parts[best]++
		rests[best] = -1
	}
	return parts
}
