package progress

import "time"

// A Return says what a break asks of the sessions after it. The zero value asks
// nothing.
type Return struct {
	Less      float64 // share to take off sets and contacts, 0–1
	NewTests  bool    // earlier rates no longer count: test again first
	NoDoubles bool    // no doubles today
}

// comebackDays is how long the first sessions after a break stay smaller.
// Assumed.
const comebackDays = 7

// ReturnAfter returns what a break of length away asks of a session daysBack
// days after the first one since (0 on that day). Our caution, no source.
func ReturnAfter(away time.Duration, daysBack int) Return {
	const week = 7 * 24 * time.Hour
	switch {
	case daysBack >= comebackDays:
		return Return{}
	case away >= 4*week:
		return Return{Less: 0.5, NewTests: true, NoDoubles: daysBack <= 0}
	case away >= 2*week:
		return Return{Less: 0.4}
	}
	return Return{}
}
