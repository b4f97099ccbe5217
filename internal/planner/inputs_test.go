package planner

// everyRule returns inputs, by name, that together fire every rule.
func everyRule() map[string]Input {
	building := func(step float64, split Split, clean ...int) []Outcome {
		var past []Outcome
		for _, c := range clean {
			past = append(past, Outcome{StepRPM: step, Split: split, Bursts: 20, CleanBursts: c})
		}
		return past
	}
	athlete := func(change func(*Input)) Input {
		in := Input{BaseRPM: 150, BurstRPM: new(210.0)}
		change(&in)
		return in
	}
	double := Split{Steady: 3, Burst: 1, Double: true}
	return map[string]Input{
		"hold":        {Caution: Caution{Hold: true}},
		"newcomer":    {BaseRPM: 150},
		"slow":        {BaseRPM: 100},
		"steady":      {BaseRPM: 100, Stage: new(StageAt(3))},
		"no room":     {BaseRPM: 150, BurstRPM: new(152.0)},
		"back":        athlete(func(in *Input) { in.Caution.DaysAway = 30 }),
		"released":    athlete(func(in *Input) { in.Caution.Released = true }),
		"lighter":     athlete(func(in *Input) { in.Caution.LighterWeek = true }),
		"capped":      {BaseRPM: 150, BurstRPM: new(170.0)},
		"established": athlete(func(in *Input) { in.History = building(40, Split{Steady: 8, Burst: 8}, 19, 18) }),
		"split up":    athlete(func(in *Input) { in.History = building(20, firstSplit(), 19, 18) }),
		"split down":  athlete(func(in *Input) { in.History = building(20, firstSplit(), 19, 8) }),
		"held":        athlete(func(in *Input) { in.History = building(25, firstSplit(), 19, 14) }),
		"not pushed":  athlete(func(in *Input) { in.History, in.Caution.UnattendedMinor = building(20, firstSplit(), 20, 20), true }),
		"at top": athlete(func(in *Input) {
			in.Split, in.BurstRPM, in.History = new(firstSplit()), new(170.0), building(40, Split{Steady: 4, Burst: 4}, 16, 20)
			in.History = append(in.History[1:], in.History[1])
			in.History[0].StepRPM, in.History[1].StepRPM = 30, 30
		}),
		"eased":     athlete(func(in *Input) { in.History = building(20, firstSplit(), 20, 20); in.History[1].Eased = true }),
		"at bottom": athlete(func(in *Input) { in.History = building(20, Split{Steady: 30, Burst: 10}, 5) }),
		"step up": athlete(func(in *Input) {
			in.History = append(building(20, firstSplit(), 20), building(20, Split{Steady: 15, Burst: 10}, 20, 19)...)
		}),
		"step down":    athlete(func(in *Input) { in.History = append(building(20, firstSplit(), 20), building(25, firstSplit(), 4)...) }),
		"by the coach": athlete(func(in *Input) { in.StepRPM, in.Split = new(25.0), &Split{Steady: 12, Burst: 6} }),
		"made easier":  athlete(func(in *Input) { in.Tweak = Tweak{1, 2, 300} }),
		"doubles": athlete(func(in *Input) {
			in.Stage, in.Double, in.Split, in.DoublesLeft = new(StageAt(12)), &Double{250}, &double, new(9)
		}),
		"no doubles":  athlete(func(in *Input) { in.Split = &double }),
		"known":       athlete(func(in *Input) { in.Capacity = &Capacity{SustainableRPM: 155, Reserve: 21.5, TauSeconds: new(70.0)} }),
		"all-out":     athlete(func(in *Input) { in.AllOut = []AllOut{{30, 92}, {180, 455}} }),
		"shortened":   athlete(func(in *Input) { in.Hazard = &Hazard{0.04, 0.05} }),
		"few catches": athlete(func(in *Input) { in.Hazard = &Hazard{0.01, 0.02} }),
		"catches":     athlete(func(in *Input) { in.Hazard = &Hazard{0.2, 0.3} }),
		"long sets":   athlete(func(in *Input) { in.Capacity = &Capacity{SustainableRPM: 175, Reserve: 20} }),
		"rest":        {BaseRPM: 120, BurstRPM: new(168.5), StepRPM: new(40.0), Split: &Split{Steady: 4, Burst: 4}, Hazard: &Hazard{0.02, 0.03}},
		"rest cuts": athlete(func(in *Input) {
			in.StepRPM, in.Split, in.Capacity = new(5.0), &Split{Steady: 10, Burst: 5}, &Capacity{SustainableRPM: 150, Reserve: 1.25}
		}),
		"beyond":        {BaseRPM: 100, Stage: new(StageAt(5)), Capacity: &Capacity{SustainableRPM: 80, Reserve: 10}},
		"contacts":      athlete(func(in *Input) { in.ContactsLeft = new(500) }),
		"few contacts":  athlete(func(in *Input) { in.ContactsLeft = new(70) }),
		"week contacts": athlete(func(in *Input) { in.WeekContactsLeft = new(300) }),
		"few minutes":   athlete(func(in *Input) { in.Minutes = new(0.5) }),
	}
}
