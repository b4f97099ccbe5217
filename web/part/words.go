package part

// The words of the parts themselves. Words about a page come in as parameters.
const (
	wordApp         = "Ropewalk"
	wordError       = "Error"
	wordShow        = "Show"
	wordHide        = "Hide"
	wordSkip        = "Skip to the page"
	wordNav         = "Main"
	wordHelp        = "Help"
	wordSignOut     = "Sign out"
	wordSignedInAs  = "Signed in as"
	wordDemo        = "Demo: every name and number here is invented."
	wordLook        = "Look"
	wordUseLook     = "Use this look"
	wordLanguage    = "Language"
	wordUseLanguage = "Use this language"
	wordUnread      = "A machine translated this. Nobody who speaks it has checked it yet, so read cautions in English too."
	wordProblem     = "There is a problem"
	wordOptional    = "(optional)"
	wordRPM         = "rpm"
	wordFrom        = "from"
	wordTest        = "test"
	wordTests       = "tests"
	wordNumbers     = "Show the numbers"
	wordReserve     = "Reserve"
	wordWhat        = "What"
	wordTime        = "Time"
	wordMinute      = "min"
	wordRep         = "rep"
	wordReps        = "reps"
	wordOnce        = "1 set"
	wordSet         = "set"
	wordSets        = "sets"
	wordRest        = "Rest"
	wordLine        = "Line"
	wordLikely      = "Likely range"
	wordLowest      = "lowest"
)

// themeWords are the looks to choose from, in order.
func themeWords() []Option {
	return []Option{
		{Value: string(System), Text: "Same as this device"},
		{Value: string(Light), Text: "Light"},
		{Value: string(Dark), Text: "Dark"},
		{Value: string(Bright), Text: "Bright light"},
	}
}
