package tagger

import "strings"

// alike are letters that sound alike and how they are written here, by their
// first letter, the first that fits replaced.
var alike = [26][][2]string{
	0:         {{"ai", "a"}, {"ay", "a"}, {"ar", "er"}}, // a
	'c' - 'a': {{"ck", "k"}, {"ce", "se"}, {"ci", "si"}, {"cy", "si"}, {"ch", "ch"}, {"c", "k"}},
	'd' - 'a': {{"dge", "j"}},
	'e' - 'a': {{"ea", "e"}, {"ee", "e"}, {"ew", "u"}, {"ei", "a"}},
	'g' - 'a': {{"ght", "t"}},
	'i' - 'a': {{"ie", "e"}, {"ir", "er"}},
	'o' - 'a': {{"oo", "u"}, {"ou", "u"}, {"oa", "o"}, {"oe", "o"}, {"oy", "oi"}, {"or", "er"}},
	'p' - 'a': {{"ph", "f"}},
	'q' - 'a': {{"qu", "kw"}},
	's' - 'a': {{"ssure", "sher"}, {"sure", "sher"}},
	't' - 'a': {{"tion", "shun"}, {"tture", "cher"}, {"ture", "cher"}, {"tch", "ch"}},
	'u' - 'a': {{"ur", "er"}},
	'w' - 'a': {{"wh", "w"}},
	'x' - 'a': {{"x", "ks"}},
	'y' - 'a': {{"y", "i"}},
	'z' - 'a': {{"z", "s"}},
}

// AppendSound appends how a word is heard, roughly: letters that sound alike
// written alike, doubled ones once, no silent e at the end. "Kontakter" and
// "contactor" sound the same.
func AppendSound(dst []byte, word string) []byte {
	from := len(dst)
	put := func(c byte) {
		if n := len(dst); n == from || dst[n-1] != c {
			dst = append(dst, c)
		}
	}
	for i := 0; i < len(word); {
		c, size := word[i], 1
		said := word[i : i+1]
		if c >= 'a' && c <= 'z' {
			for _, r := range alike[c-'a'] {
				if strings.HasPrefix(word[i:], r[0]) {
					said, size = r[1], len(r[0])
					break
				}
			}
		}
		for j := range len(said) {
			put(said[j])
		}
		i += size
	}
	if n := len(dst); n-from > 3 && dst[n-1] == 'e' {
		dst = dst[:n-1]
	}
	return dst
}
