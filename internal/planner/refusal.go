package planner

// Test names a test that an athlete can do next.
type Test string

// The tests that a plan or a meeting can ask for.
const (
	TestBase       Test = "base"         // 60 s, comfortable
	TestBurst      Test = "burst"        // 10 s
	TestAllOut     Test = "all_out"      // 30 s and 180 s
	TestAllOut30   Test = "all_out_30"   // the short one of the pair
	TestAllOut180  Test = "all_out_180"  // the long one
	TestCleanRun   Test = "clean_run"    // count to the catch
	TestDoubleRate Test = "double_speed" // rope rate inside a double
)

// An InputError reports an input that cannot be right. Field is its name in
// JSON. Test, if any, is the test that would fill or correct it.
type InputError struct {
	Field   string
	Problem string
	Test    Test
}

func (e *InputError) Error() string { return e.Field + ": " + e.Problem }

// An EvidenceError reports evidence that supports no plan, with the test that
// would. Codes: "all_out" (the tests carry no rate–duration line; Err is the
// capacity package's refusal), "too_fast" (a rate above 600 rpm),
// "reserve_too_small" (the base rate alone empties the reserve in a few reps)
// and, from [PaceGroups], "tolerance" (too few groups for the spread of rates).
type EvidenceError struct {
	Code    string
	Problem string
	Test    Test
	Err     error
}

func (e *EvidenceError) Error() string { return e.Problem }

func (e *EvidenceError) Unwrap() error { return e.Err }
