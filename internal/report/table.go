package report

// A Kind is what the cells of a column hold.
type Kind int

// The kinds.
const (
	Text    Kind = iota
	Whole        // a whole number
	Decimal      // a number, shown with one decimal
	Day          // a day of the gym's calendar
	YesNo
)

// A Column is one column of a table. Key heads it in CSV, Title in a spreadsheet.
type Column struct {
	Key, Title string
	Kind       Kind
	Note       string // what it means, with its unit
}

// A Table is a list of rows of one sort.
type Table struct {
	Name    string // of its file
	Title   string // of its sheet
	Note    string
	Columns []Column
}

// Tables lists the tables of a report.
func Tables() []Table {
	return []Table{athletesTable(), resultsTable(), meetingsTable(), stagesTable(), weeksTable()}
}

// Places of the tables in Tables.
const (
	athletes = iota
	results
	meetings
	stages
	weeks
)

func movementColumns(key, title string) []Column {
	return []Column{
		{key + "_start_rpm", title + ", start", Decimal, "Rate at the start of the term, rotations a minute (rpm)."},
		{key + "_start_low_rpm", title + ", start, low", Decimal, "Lower end of its 95 % interval, rpm."},
		{key + "_start_high_rpm", title + ", start, high", Decimal, "Upper end of its 95 % interval, rpm."},
		{key + "_end_rpm", title + ", end", Decimal, "Rate at the end of the term, rpm."},
		{key + "_end_low_rpm", title + ", end, low", Decimal, "Lower end of its 95 % interval, rpm."},
		{key + "_end_high_rpm", title + ", end, high", Decimal, "Upper end of its 95 % interval, rpm."},
		{key + "_change_rpm", title + ", change", Whole, "End less start, in whole rpm as shown."},
		{key + "_needed_rpm", title + ", needed", Decimal, "A change above this is real, rpm."},
		{key + "_verdict", title + ", is it real", Text, "really faster, really slower, may be chance, or too few tests."},
	}
}

func athletesTable() Table {
	t := Table{Name: "athletes", Title: "Athletes", Note: "One row for each athlete."}
	t.Columns = append(t.Columns,
		Column{"athlete_id", "Athlete id", Text, "Id, the same in every file."},
		Column{"name", "Name", Text, "Name as the roster has it."},
		Column{"tests", "Tests", Whole, "Base tests of the step and rope that are compared."},
		Column{"step", "Step", Text, "Jump step of these tests."},
		Column{"rope", "Rope", Text, "Kind of rope of these tests."})
	t.Columns = append(t.Columns, movementColumns("whole", "Whole test")...)
	t.Columns = append(t.Columns, movementColumns("turning", "Turning")...)
	t.Columns = append(t.Columns,
		Column{"from_fewer_catches_rpm", "From fewer catches", Whole, "Part of the whole-test change that came from fewer catches, rpm."},
		Column{"from_turning_rpm", "From turning faster", Whole, "Part that came from turning faster, rpm."},
		Column{"catches_per_minute_start", "Catches a minute, start", Decimal, "Catches in a minute of base tests."},
		Column{"catches_per_minute_end", "Catches a minute, end", Decimal, "Catches in a minute of base tests."})
	t.Columns = append(t.Columns, movementColumns("burst", "Burst")...)
	t.Columns = append(t.Columns,
		Column{"longest_clean_jumps", "Longest without a catch", Whole, "Jumps of the longest clean run or clean test."},
		Column{"longest_clean_day", "Its day", Day, "Day of that run."},
		Column{"median_run_jumps", "Half of runs go past", Whole, "Median of clean runs (Kaplan–Meier), jumps."},
		Column{"longest_row_of_doubles", "Longest row of doubles", Whole, "Double unders in a row."},
		Column{"stage_start", "Stage, start", Text, "Stage at the start of the term."},
		Column{"stage_end", "Stage, end", Text, "Stage at the end."},
		Column{"stages_up", "Stages up", Whole, "Moves up within the term."},
		Column{"meetings_here", "Meetings come to", Whole, "Meetings that the athlete came to."},
		Column{"meetings_noted", "Meetings noted", Whole, "Meetings for which somebody noted it."},
		Column{"sessions_told", "Sessions told of", Whole, "Sessions for which effort and minutes are known."},
		Column{"minutes", "Minutes", Whole, "Minutes of these sessions."},
		Column{"effort_mean", "Effort", Decimal, "Mean effort, 0 to 10."},
		Column{"load", "Load", Whole, "Sum of effort times minutes, arbitrary units."},
		Column{"jumps", "Jumps", Whole, "Jumps of sessions and tests that were counted."},
		Column{"results_left_out", "Results left out", Whole, "Results that still need a look; they count nowhere."},
		Column{"comment", "Comment", Text, "The coach's words in the report."},
		Column{"aim", "What comes next", Text, "The coach's words on what comes next."})
	return t
}

func resultsTable() Table {
	return Table{Name: "results", Title: "Results", Note: "One row for each result that stands.", Columns: []Column{
		{"result_id", "Result id", Text, "Id of the result."},
		{"athlete_id", "Athlete id", Text, "Id of the athlete."},
		{"name", "Name", Text, "Name of the athlete."},
		{"day", "Day", Day, "Day on the gym's calendar."},
		{"protocol", "Test", Text, "Kind of test: base, burst, all_out, clean_run, doubles and others."},
		{"seconds", "Seconds", Decimal, "Length of the test, s."},
		{"rotations", "Rotations", Whole, "Turns of the rope; reps of a run; doubles in a row."},
		{"catches", "Catches", Whole, "How often the rope was stopped."},
		{"lost_seconds", "Lost to catches", Decimal, "Seconds lost to catches, where timed, s."},
		{"whole_rpm", "Whole test", Decimal, "Rotations over the whole test, rpm."},
		{"whole_u_rpm", "Whole test, ±", Decimal, "Expanded uncertainty (two standard uncertainties), rpm."},
		{"turning_rpm", "Turning", Decimal, "Rate while the rope turned, rpm."},
		{"turning_u_rpm", "Turning, ±", Decimal, "Expanded uncertainty, rpm."},
		{"step", "Step", Text, "bounce, alternate or double."},
		{"rope", "Rope", Text, "Kind of rope."},
		{"surface", "Floor", Text, "Floor."},
		{"counted_by", "Counted by", Text, "self, partner or coach."},
		{"seen_by_coach", "Seen by a coach", YesNo, "Whether a coach saw it."},
		{"stopped_clean", "Stopped clean", YesNo, "A run that was ended without a catch."},
		{"needs_a_look", "Needs a look", YesNo, "Odd, and not yet looked at; counts nowhere."},
		{"note", "Note", Text, "Note on the result."},
	}}
}

func meetingsTable() Table {
	return Table{Name: "meetings", Title: "Meetings", Note: "One row for each athlete and meeting.", Columns: []Column{
		{"athlete_id", "Athlete id", Text, "Id of the athlete."},
		{"name", "Name", Text, "Name of the athlete."},
		{"day", "Day", Day, "Day of the meeting."},
		{"was_there", "Was there", Text, "here, away, or empty where nobody noted it."},
	}}
}

func stagesTable() Table {
	return Table{Name: "stages", Title: "Stages", Note: "One row for each change of stage.", Columns: []Column{
		{"athlete_id", "Athlete id", Text, "Id of the athlete."},
		{"name", "Name", Text, "Name of the athlete."},
		{"day", "Day", Day, "Day of the decision."},
		{"from", "From", Text, "Stage before."},
		{"to", "To", Text, "Stage after."},
		{"up", "Up", YesNo, "Whether it was a move up."},
	}}
}

func weeksTable() Table {
	return Table{Name: "weeks", Title: "Weeks", Note: "One row for each athlete and week in which something was done.", Columns: []Column{
		{"athlete_id", "Athlete id", Text, "Id of the athlete."},
		{"name", "Name", Text, "Name of the athlete."},
		{"week_from", "Week from", Day, "Monday of the week."},
		{"sessions", "Sessions", Whole, "Sessions for which effort and minutes are known."},
		{"load", "Load", Whole, "Sum of effort times minutes, arbitrary units."},
		{"monotony", "Monotony", Decimal, "Mean of the seven daily loads over their standard deviation."},
		{"jumps", "Jumps", Whole, "Jumps of sessions and tests that were counted."},
	}}
}
