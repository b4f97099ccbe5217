package part

// Tone is what a state asks of the one who reads it. It always comes with a
// picture and a word.
type Tone string

const (
	ToneDone  Tone = "done"  // all well
	ToneLook  Tone = "look"  // look here
	ToneStop  Tone = "stop"  // an error, or someone needs help
	ToneWork  Tone = "work"  // going on
	TonePlain Tone = "plain" // nothing to do
)

func (t Tone) icon() IconName {
	switch t {
	case ToneDone:
		return IconDone
	case ToneStop:
		return IconStop
	case ToneWork:
		return IconWorking
	case TonePlain:
		return IconNext
	default:
		return IconAlert
	}
}

// State is one of the states people meet, each in fixed words.
type State int

const (
	SavedHere State = iota
	Sent
	NotSent
	SentTwice
	NeedsLook
	Here
	Away
	Working
	Resting
	Finished
	NeedsCoach
	GateMet
	NotYet
)

type look struct {
	icon IconName
	tone Tone
	text string
}

func (s State) look() look {
	switch s {
	case SavedHere:
		return look{IconDevice, ToneDone, "Saved on this phone"}
	case Sent:
		return look{IconDone, ToneDone, "Sent"}
	case NotSent:
		return look{IconWaiting, ToneLook, "Not sent yet"}
	case SentTwice:
		return look{IconTwice, TonePlain, "Sent twice, kept one"}
	case NeedsLook:
		return look{IconLook, ToneLook, "Needs a look"}
	case Here:
		return look{IconDone, ToneDone, "Here"}
	case Away:
		return look{IconAway, TonePlain, "Away"}
	case Working:
		return look{IconWorking, ToneWork, "Working"}
	case Resting:
		return look{IconResting, TonePlain, "Resting"}
	case Finished:
		return look{IconDone, ToneDone, "Done"}
	case NeedsCoach:
		return look{IconAlert, ToneStop, "Needs coach"}
	case GateMet:
		return look{IconGateMet, ToneDone, "Gate met"}
	default:
		return look{IconNotYet, TonePlain, "Not yet"}
	}
}

// Text is the state in words.
func (s State) Text() string { return s.look().text }
