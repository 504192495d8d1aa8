package care

import (
	"fmt"
	"strconv"
	"strings"
)

// Mass is a body mass or a safe working load in whole grams. Zero means unknown.
// Grams keep comparisons exact: 10 % of 62 kg is 6.2 kg and nothing beside it.
type Mass int64

// Kilogram is the usual unit of the trade.
const Kilogram Mass = 1000

// ParseMass reads kilograms with up to three decimals, such as "63.5".
func ParseMass(s string) (Mass, error) {
	bad := fmt.Errorf("%q is no mass: write kilograms, such as 63.5", s)
	whole, frac, _ := strings.Cut(strings.TrimSpace(s), ".")
	if whole == "" || len(frac) > 3 {
		return 0, bad
	}
	n, err := strconv.ParseUint(whole, 10, 20)
	if err != nil {
		return 0, bad
	}
	g := uint64(0)
	if frac != "" {
		if g, err = strconv.ParseUint((frac + "00")[:3], 10, 20); err != nil {
			return 0, bad
		}
	}
	return Mass(n)*Kilogram + Mass(g), nil
}

// Kilograms gives the exact decimal form without trailing zeros: 63500 g is "63.5".
func (m Mass) Kilograms() string {
	s := fmt.Sprintf("%d.%03d", int64(m)/1000, int64(m)%1000)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}
