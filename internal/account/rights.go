package account

import "ropewalk.example/internal/gym"

// A Right is something that a role may do in its own gym.
type Right string

// The rights.
const (
	ManageClasses Right = "manage classes"     // make classes, bring in names, give PINs
	EnterResults  Right = "enter results"      // tests, attendance, how a session went
	PlanAndDecide Right = "plan and decide"    // plans, stages, holds
	ManageGym     Right = "manage the gym"     // people, terms, data, settings
	OwnPage       Right = "see one's own page" // an athlete's plan, results and rates
	ChildPage     Right = "see a child's page" // a guardian's view of one athlete, and consent
	OwnAccount    Right = "keep one's account" // password, second factor, sign-ins
	SeeHealth     Right = "see health notes"   // what hurts, answers on health, incidents; each look is logged
)

// May reports whether role has the right. This table is the whole of it.
func May(role gym.Role, right Right) bool {
	for _, held := range rights()[role] {
		if held == right {
			return true
		}
	}
	return false
}

func rights() map[gym.Role][]Right {
	return map[gym.Role][]Right{
		gym.Owner:     {ManageGym, ManageClasses, PlanAndDecide, EnterResults, SeeHealth, OwnAccount},
		gym.Coach:     {ManageClasses, PlanAndDecide, EnterResults, SeeHealth, OwnAccount},
		gym.Assistant: {EnterResults, OwnAccount},
		gym.Jumper:    {OwnPage},
		gym.Guardian:  {ChildPage},
	}
}
