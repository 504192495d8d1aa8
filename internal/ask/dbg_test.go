package ask

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

func TestDbg(t *testing.T) {
	r := testReader(t)
	for _, l := range strings.Split(os.Getenv("SAMELIFT_DBG"), "|") {
		if l == "" {
			continue
		}
		x, why := r.Explain(l, "")
		fmt.Printf("%s\n   %+v\n", l, x)
		for _, w := range why {
			fmt.Println("     ", w)
		}
	}
}
