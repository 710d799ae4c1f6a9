package tagger

import "math"

// scratch is the room one message needs.
type scratch struct {
	reader reader
	score  [][Tags]float32
	best   [][Tags]float32
	from   [][Tags]Tag
	weight [][Tags]float64 // exp of the scores, the highest of a word 1
	ahead  [][Tags]float64
	margin [][Tags]float64
	tags   []Tag
}

func (s *scratch) size(n int) {
	s.score, s.best, s.from = room(s.score, n), room(s.best, n), room(s.from, n)
	s.weight, s.ahead, s.margin = room(s.weight, n), room(s.ahead, n), room(s.margin, n)
	s.tags = room(s.tags, n)
}

func room[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/2)
	}
	return s[:n]
}

// emit adds up each word's feature rows.
func (m *Model) emit(s *scratch, words []Word) {
	s.reader.start(words, m.mask)
	for i := range words {
		var sum [Tags]int32
		for _, row := range s.reader.features(words, i) {
			w := (*[Tags]int8)(m.rows[int(row)*Tags:])
			for t := range sum {
				sum[t] += int32(w[t])
			}
		}
		for t := range sum {
			s.score[i][t] = float32(sum[t]) * m.scale
		}
	}
}

// likeliest finds the likeliest tags (Viterbi); of equals the first wins.
func (m *Model) likeliest(s *scratch) {
	n := len(s.tags)
	for t := range Tags {
		s.best[0][t] = s.score[0][t] + m.first[t]
	}
	for i := 1; i < n; i++ {
		for to := range Tags {
			best, from := float32(math.Inf(-1)), Tag(0)
			for a := range Tags {
				if x := s.best[i-1][a] + m.step[a][to]; x > best {
					best, from = x, Tag(a)
				}
			}
			s.best[i][to], s.from[i][to] = best+s.score[i][to], from
		}
	}
	best, tag := float32(math.Inf(-1)), Tag(0)
	for t := range Tags {
		if x := s.best[n-1][t] + m.last[t]; x > best {
			best, tag = x, Tag(t)
		}
	}
	for i := n - 1; i >= 0; i-- {
		s.tags[i] = tag
		tag = s.from[i][tag]
	}
}

// marginals finds each tag's probability (forward-backward), scaled at every word
// so that a long message neither overflows nor vanishes.
func (m *Model) marginals(s *scratch) {
	n := len(s.tags)
	for i := range n {
		top := s.score[i][0]
		for _, x := range s.score[i][1:] {
			top = max(top, x)
		}
		for t := range Tags {
			s.weight[i][t] = math.Exp(float64(s.score[i][t] - top))
		}
	}
	for t := range Tags {
		s.ahead[0][t] = s.weight[0][t] * math.Exp(float64(m.first[t]))
	}
	level(&s.ahead[0])
	for i := 1; i < n; i++ {
		var sum [Tags]float64
		for a, x := range s.ahead[i-1] {
			for to := range sum {
				sum[to] += x * m.exp[a][to]
			}
		}
		for to := range sum {
			s.ahead[i][to] = sum[to] * s.weight[i][to]
		}
		level(&s.ahead[i])
	}
	var back [Tags]float64
	for t := range back {
		back[t] = math.Exp(float64(m.last[t]))
	}
	for i := n - 1; i >= 0; i-- {
		for t := range Tags {
			s.margin[i][t] = s.ahead[i][t] * back[t]
		}
		level(&s.margin[i])
		for t := range back {
			back[t] *= s.weight[i][t]
		}
		var before [Tags]float64
		for a := range before {
			for to, x := range back {
				before[a] += m.exp[a][to] * x
			}
		}
		back = before
		level(&back)
	}
}

// level makes the numbers sum to 1; where nothing is left of them all are alike.
func level(p *[Tags]float64) {
	sum := 0.0
	for _, x := range p {
		sum += x
	}
	if !(sum > 0) || math.IsInf(sum, 1) {
		for t := range p {
			p[t] = 1.0 / Tags
		}
		return
	}
	for t := range p {
		p[t] /= sum
	}
}
