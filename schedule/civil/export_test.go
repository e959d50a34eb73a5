package civil

import "time"

// Exists reports whether the clocks of loc ever show minute m on day d: it is
// false exactly inside the gap of a forward change.
func Exists(d Date, m Minute, loc *time.Location) bool {
	_, gapEnd := locate(d, m, loc)
	return gapEnd.IsZero()
}
