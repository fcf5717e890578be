package kit

// scanner walks through lists of lists of numbers in valid JSON without
// making anything of them.
type scanner struct {
	text  []byte
	i     int
	wrong bool // something else than a list stands where one should
}

// open goes into a list and says whether something is in it.
func (s *scanner) open() bool {
	s.i = skipSpace(s.text, s.i)
	if s.wrong || s.text[s.i] != '[' {
		s.wrong = true
		return false
	}
	s.i = skipSpace(s.text, s.i+1)
	if s.text[s.i] == ']' {
		s.i++
		return false
	}
	return true
}

// next goes behind a value of a list and says whether another follows.
func (s *scanner) next() bool {
	if s.wrong {
		return false
	}
	s.i = skipSpace(s.text, s.i)
	more := s.text[s.i] == ','
	s.i++
	return more
}

// word is the value at hand, as it is written.
func (s *scanner) word() string {
	i := skipSpace(s.text, s.i)
	return string(s.text[i:skipValue(s.text, i)])
}

// number goes behind a whole number; it is not ok, and stays, at anything else.
func (s *scanner) number() (n int, ok bool) {
	i := skipSpace(s.text, s.i)
	begin := i
	for ; s.text[i] >= '0' && s.text[i] <= '9' && n <= maxNumber; i++ {
		n = 10*n + int(s.text[i]-'0')
	}
	if c := s.text[i]; i == begin || c == '.' || c == 'e' || c == 'E' || n > maxNumber {
		return 0, false
	}
	s.i = i
	return n, true
}
