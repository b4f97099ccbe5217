package rate

import "testing"

func TestShownInterval(t *testing.T) {
	two := Combined{Rate: Rate{RPM: 165, U: 15}, Low: 165 - 190, High: 165 + 190, Tests: 2, Between: 20}
	shown := two.Shown()
	if half := shown.High - shown.RPM; half < 0.08*165/1.42 || half > 40 || !shown.Assumed {
		t.Errorf("two tests 165 ± %.1f rpm, assumed %t; want tens of rpm, assumed", half, shown.Assumed)
	}
	alike := Combined{Rate: Rate{RPM: 100, U: 1}, Low: 87, High: 113, Tests: 2}
	if half := alike.Shown().High - 100; half < 5 {
		t.Errorf("two tests that happen to agree give ± %.1f rpm; the day-to-day 4 %% is more", half)
	}
	five := Combined{Rate: Rate{RPM: 165, U: 3}, Low: 157, High: 173, Tests: 5}
	if five.Shown() != five {
		t.Error("five tests know their own scatter; their interval changed")
	}
}
