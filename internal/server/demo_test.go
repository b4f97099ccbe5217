package server

import (
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/demoseed"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/store"
)

// demoSite is a site with the invented gym in it, on its day.
func demoSite(t *testing.T) (*site, *browser) {
	t.Helper()
	s := newSite(t)
	s.now = demo.Now()
	seeder := demoseed.Seeder{Store: s.server.Store, Hasher: s.server.Accounts.Hasher, Log: s.server.Log}
	if _, err := seeder.Fill(t.Context(), s.now); err != nil {
		t.Fatal(err)
	}
	var staff []store.Staff
	s.read(demoseed.GymID(), store.StaffOf(&staff))
	for _, person := range staff {
		if person.Role == gym.Coach {
			return s, s.as(gym.Who{GymID: demoseed.GymID(), PersonID: person.PersonID, Role: gym.Coach, Name: person.Name})
		}
	}
	t.Fatal("the demo has no coach")
	return nil, nil
}

// Every plan that the demo keeps comes to the same numbers when it is worked out
// again, keeps its ceilings, and can be opened with its reasons.
func TestDemoPlansComeOutTheSame(t *testing.T) {
	s, coach := demoSite(t)
	var plans []gym.Plan
	s.read(demoseed.GymID(), store.AllPlans(&plans))
	if len(plans) < 100 {
		t.Fatalf("%d plans in the demo", len(plans))
	}
	kinds := map[planner.Kind]int{}
	moved := map[planner.Rule]int{}
	for _, kept := range plans {
		again, err := coaching.WorkAgain(kept)
		if err != nil {
			t.Fatal(err)
		}
		if !again.Same || again.Err != nil {
			t.Errorf("plan of %s for %s comes out otherwise: %v", kept.Day.Format("2 Jan"), kept.AthleteID, again.Err)
		}
		kinds[again.Plan.Kind]++
		for _, reason := range again.Plan.Why {
			moved[reason.Rule]++
		}
		for _, c := range progress.DefaultCeilings() {
			if c.Kind == progress.LowBounce && c.FromDay >= 365 && !c.Under16 && again.Plan.Contacts > c.Most {
				t.Errorf("plan of %s has %d jumps, more than anybody's ceiling", kept.Day.Format("2 Jan"), again.Plan.Contacts)
			}
		}
		seconds := 0
		for _, part := range again.Parts {
			seconds += part.Seconds
		}
		if seconds != 45*60 && seconds != 60*60 {
			t.Errorf("the hour of %s lasts %d s, its class 45 or 60 minutes", kept.Day.Format("2 Jan"), seconds)
		}
	}
	for _, kind := range []planner.Kind{planner.KindSplit, planner.KindSteady, planner.KindHold} {
		if kinds[kind] == 0 {
			t.Errorf("no plan of kind %s in the demo", kind)
		}
	}
	for _, rule := range []planner.Rule{planner.RuleSplitUp, planner.RuleLighterWeek, planner.RuleCapacityKnown, planner.RuleTauKnown, planner.RuleAway} {
		if moved[rule] == 0 {
			t.Errorf("no plan in the demo shows the rule %s", rule)
		}
	}
	for _, kept := range plans[:20] {
		coach.get("/plans/"+kept.PlanID.String()).is(200).says("Why this plan?", "the same to the last digit")
	}
}

// Every athlete's page of the demo opens, and those with stories tell them.
func TestDemoAthletes(t *testing.T) {
	s, coach := demoSite(t)
	var athletes []gym.Athlete
	s.read(demoseed.GymID(), store.Athletes(&athletes))
	ids := map[string]uuid.UUID{}
	for _, a := range athletes {
		ids[a.Name] = a.AthleteID
		coach.get("/athletes/"+a.AthleteID.String()).is(200).lacks("NaN", "Inf", "%!", "−0 ")
	}
	says := func(name string, texts ...string) {
		t.Helper()
		coach.get("/athletes/" + ids[name].String()).is(200).says(texts...)
	}
	says("Mahina", "Impact work is on hold since Tue 3 Nov", "Plans use it.")
	says("אורי לבנון", "These all-out tests disagree")
	says("Yusuf Karadoğan", "1 result needs a look and counts nowhere until then")
}
