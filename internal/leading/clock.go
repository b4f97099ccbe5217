package leading

import (
	"encoding/json"
	"fmt"
	"time"

	"ropewalk.example/internal/floor"
	"ropewalk.example/internal/gym"
)

// A Clock is where a session's clock stands, as what was pressed tells.
type Clock struct {
	Number  int // of the newest press; 0 before the first
	Running bool
	Course  floor.Course // the zero Course before the first start
	Started bool

	at      time.Time
	elapsed float64
}

// ClockOf reads the clock from what was pressed, in order.
func ClockOf(events []gym.RunEvent) (Clock, error) {
	var c Clock
	for _, e := range events {
		c.Number, c.Running, c.at, c.elapsed = e.Number, e.Running(), e.At, e.Elapsed
		if e.Course == nil {
			continue
		}
		c.Started, c.Course = true, floor.Course{}
		if err := json.Unmarshal(e.Course, &c.Course); err != nil {
			return Clock{}, fmt.Errorf("reading the course of press %d: %w", e.Number, err)
		}
	}
	return c, nil
}

// Elapsed returns the second of the course at a moment, at most its end.
func (c Clock) Elapsed(now time.Time) float64 {
	if !c.Running {
		return c.elapsed
	}
	return min(c.elapsed+max(0, now.Sub(c.at).Seconds()), max(c.elapsed, c.Course.Seconds))
}

// Zero returns the moment at which the clock stood, or would have stood, at 0:
// from it every device works out the same second while the clock runs.
func (c Clock) Zero() time.Time {
	return c.at.Add(-time.Duration(c.elapsed * float64(time.Second)))
}

// Over reports whether the course has ended, or none was started.
func (c Clock) Over(now time.Time) bool {
	return !c.Started || c.Course.At(c.Elapsed(now)).Over
}
