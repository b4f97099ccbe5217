package store_test

import "testing"

// behindPooler begins the names of tests whose stores reach the database
// through pgbouncer.
const behindPooler = "TestBehindAPooler/"

// What the store promises holds behind a pooler that gives every transaction
// whichever of four sessions is free: above all, that no gym sees another's.
func TestBehindAPooler(t *testing.T) {
	for name, test := range map[string]func(t *testing.T){
		"no gym stays named":         TestNoGymStaysNamedOnAConnection,
		"sessions are shared safely": TestConnectionsAreSharedSafely,
		"twin gyms":                  TestTwinGymsNeverSeeOneAnother,
		"readings":                   TestReadingsFindWhatWasKept,
		"readings of the floor":      TestReadingsOfTheFloorFindWhatWasKept,
		"readings of a term":         TestReadingsOfATerm,
		"readings in their gym":      TestReadingsStayInTheirGym,
		"conflicts":                  TestTakenNamesAndCodesAreConflicts,
		"the same id again":          TestTheSameIDAgainChangesNothing,
		"sign-ins":                   TestSignInsEndWithTheRight,
		"tries in turn":              TestTriesAreCountedInTurn,
		"listening":                  TestListenersHearWhatWasCommitted,
		"counts in turn":             TestCountsOfOneAthleteWaitForEachOther,
		"erasure":                    TestEraseLeavesNothing,
		"erasure's rights":           TestErasureRightsAreTakenOn,
		"exports":                    TestExportImportExportIsTheSame,
		"limits":                     TestTheServerLimitsTheApp,
	} {
		t.Run(name, test)
	}
}
