package heif

// bits reads numbers bit by bit, the highest bit first. Behind the end it
// reads zeros and says so in bad.
type bits struct {
	data []byte
	at   int // in bits
	bad  bool
}

// u takes a number of n bits, at most 32.
func (b *bits) u(n int) (v uint32) {
	for range n {
		v <<= 1
		if b.at>>3 < len(b.data) {
			v |= uint32(b.data[b.at>>3]>>(7-b.at&7)) & 1
		} else {
			b.bad = true
		}
		b.at++
	}
	return v
}

func (b *bits) flag() bool { return b.u(1) == 1 }

func (b *bits) skip(n int) {
	b.at += n
	b.bad = b.bad || b.at > 8*len(b.data)
}

// ue takes an Exp-Golomb number (ITU-T H.265, 9.2).
func (b *bits) ue() uint32 {
	zeros := 0
	for !b.flag() {
		if zeros++; zeros > 31 || b.bad {
			b.bad = true
			return 0
		}
	}
	return 1<<zeros - 1 + b.u(zeros)
}
