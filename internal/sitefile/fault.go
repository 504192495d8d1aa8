package sitefile

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// MaxFaults is how many faults are reported at most; a file with more is some other file.
const MaxFaults = 200

// Fault is one thing in a file that has to be put right before it can be read. It is
// written for the operator who holds the file, in English, and ends with the next step.
type Fault struct {
	// Line and Column count from 1; zero when the fault belongs to no one place.
	Line, Column int
	// Field is the path of the field, such as plans[2].transfers[0].loops.shoulder.
	Field   string
	Problem string
}

// Error gives the fault as one line: 12:5: shifts[0].start: the problem.
func (f Fault) Error() string {
	if f.Field == "" {
		return fmt.Sprintf("%d:%d: %s", f.Line, f.Column, f.Problem)
	}
	return fmt.Sprintf("%d:%d: %s: %s", f.Line, f.Column, f.Field, f.Problem)
}

func sortFaults(all []Fault) {
	slices.SortStableFunc(all, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// nearest gives the word of those allowed that differs least from what was written,
// or an empty string where none is near enough to be meant. Capitals do not count.
func nearest(wrote string, allowed []string) string {
	best, bestAt := "", max(1, min(3, len(wrote)/3))+1
	for _, a := range allowed {
		if d := distance(strings.ToLower(wrote), strings.ToLower(a)); d < bestAt {
			best, bestAt = a, d
		}
	}
	return best
}

// distance counts the letters to add, drop or change between two words.
func distance(a, b string) int {
	if len(a) > 60 || len(b) > 60 {
		return 60
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		left := row[0]
		row[0] = i + 1
		for j := range len(b) {
			d := left
			if a[i] != b[j] {
				d++
			}
			left = row[j+1]
			row[j+1] = min(d, row[j+1]+1, row[j]+1)
		}
	}
	return row[len(b)]
}
