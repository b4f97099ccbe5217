package server

import (
	"context"
	"crypto/sha256"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/store"
)

// belongings holds an id of the hall for each word in braces.
func (h *hall) belongings() map[string]uuid.UUID {
	h.t.Helper()
	result := h.counted(0, "base", 118, 60, 1)
	h.plan("2026-11-05")
	var plans []gym.Plan
	h.read(h.id, store.AllPlans(&plans))
	if len(plans) == 0 {
		h.t.Fatal("no plan was made")
	}
	device, guardian := h.letIn(0), h.guardian(0)
	ids := map[string]uuid.UUID{"class": h.class, "athlete": h.athletes[0].AthleteID, "result": result.ResultID, "plan": plans[0].PlanID, "device": device, "guardian": guardian, "session": h.session(), "secret": newID(), "round": newID(), "token": newID()}
	ids["ladder"], ids["rope"], ids["decision"] = h.climb("first-jumps")
	ids["term"], ids["holiday"] = newID(), newID()
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		if err := tx.AddHoliday(ctx, gym.Holiday{HolidayID: ids["holiday"], Name: "Half term", StartsOn: h.now.AddDate(0, 0, -40), EndsOn: h.now.AddDate(0, 0, -34)}); err != nil {
			return err
		}
		return tx.AddTerm(ctx, gym.Term{TermID: ids["term"], Name: "Autumn", StartsOn: h.now.AddDate(0, 0, -60), EndsOn: h.now.AddDate(0, 0, 20)})
	})
	h.renew(ids)
	return ids
}

// renew puts ids in place of those that a request may have used up: of a person
// who works in the hall and one who did, of an open invitation, of a finished
// file, and of an erasure that can be undone.
func (h *hall) renew(ids map[string]uuid.UUID) {
	h.t.Helper()
	ids["link"], ids["calendar"] = h.link(gym.Link{Kind: gym.CalendarLink, ClassID: h.class}), h.link(gym.Link{Kind: gym.CalendarLink, AthleteID: h.athletes[0].AthleteID})
	person := gym.Person{PersonID: newID(), Name: "Pat", CreatedAt: h.now}
	person.SignInName = person.PersonID.String() + "@gym.example"
	invitation := gym.Invitation{InvitationID: newID(), Name: "Ida", Role: gym.Coach, MadeAt: h.now, MadeBy: h.owner.PersonID, ExpiresAt: h.now.Add(time.Hour)}
	file, token := newID(), newID()
	former := gym.Person{PersonID: newID(), Name: "Flo", PasswordHash: "was here", CreatedAt: h.now}
	former.SignInName = former.PersonID.String() + "@gym.example"
	gone := gym.Athlete{AthleteID: newID(), BirthYear: 1990}
	gone.Name = gone.AthleteID.String()
	erasure := gym.Erasure{ErasureID: newID(), About: "athlete", AboutID: gone.AthleteID, AskedFor: "athlete", AskedAt: h.now, AskedBy: h.owner.PersonID, DueAt: h.now.AddDate(0, 0, 30)}
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		if err := tx.AddPerson(ctx, person); err != nil {
			return err
		}
		if err := tx.AddMembership(ctx, gym.Membership{PersonID: person.PersonID, Role: gym.Assistant, Since: h.now}); err != nil {
			return err
		}
		if err := tx.AddInvitation(ctx, invitation, invitation.InvitationID[:]); err != nil {
			return err
		}
		if err := tx.AddPerson(ctx, former); err != nil {
			return err
		}
		work := gym.Membership{PersonID: former.PersonID, Role: gym.Coach, Since: h.now}
		if err := tx.AddMembership(ctx, work); err != nil {
			return err
		}
		if err := tx.EndMembership(ctx, work, h.now); err != nil {
			return err
		}
		if _, _, err := tx.AddAthletes(ctx, []store.NewAthlete{{Athlete: gone, NameKey: gone.Name}}, h.now); err != nil {
			return err
		}
		if err := tx.AddErasure(ctx, erasure); err != nil {
			return err
		}
		if _, err := tx.AddToken(ctx, gym.Token{TokenID: token, Name: "Board", MadeAt: h.now, MadeBy: h.owner.PersonID}, token[:]); err != nil {
			return err
		}
		return h.keepReport(ctx, tx, file, ids["term"])
	})
	ids["person"], ids["invitation"], ids["report"], ids["token"] = person.PersonID, invitation.InvitationID, file, token
	ids["former"], ids["erasure"] = former.PersonID, erasure.ErasureID
}

// keepReport keeps a finished file of a term's report.
func (h *hall) keepReport(ctx context.Context, tx *store.Tx, id, term uuid.UUID) error {
	report := gym.Report{ReportID: id, Kind: gym.ReportGym, Format: gym.FormatXLSX, TermID: term, AsOf: h.now, FileName: "report.xlsx", AskedAt: h.now, AskedBy: h.coach.PersonID}
	if _, err := tx.AddReport(ctx, report); err != nil {
		return err
	}
	attempt, body := newID(), []byte("rows")
	sum := sha256.Sum256(body)
	if _, err := tx.TakeReport(ctx, id, attempt); err != nil {
		return err
	}
	if err := tx.AddPiece(ctx, id, attempt, 1, body); err != nil {
		return err
	}
	_, err := tx.FinishReport(ctx, id, attempt, int64(len(body)), sum[:], h.now)
	return err
}

// link is an open link to a calendar.
func (h *hall) link(l gym.Link) uuid.UUID {
	h.t.Helper()
	if _, err := h.server.Leading.NewLink(h.t.Context(), h.coach, l); err != nil {
		h.t.Fatal(err)
	}
	var links []gym.Link
	h.read(h.id, store.Links(gym.CalendarLink, &links))
	return links[0].LinkID
}

// session is a class hour that was checked in.
func (h *hall) session() uuid.UUID {
	h.t.Helper()
	session, err := h.server.Leading.CheckIn(h.t.Context(), h.coach, leading.CheckIn{Class: h.class, Day: gym.DayIn(h.now, h.now.Location()), Starts: h.now, Minutes: 60})
	if err != nil {
		h.t.Fatal(err)
	}
	return session
}

// keys stand for the words in braces that are no ids.
var keys = map[string]string{"stage": "first-jumps", "clause": "single-jumps", "version": "1"}

// addressed fills the words in braces with ids.
func addressed(t *testing.T, pattern string, ids map[string]uuid.UUID) string {
	t.Helper()
	return parameter.ReplaceAllStringFunc(pattern, func(braced string) string {
		if key, fixed := keys[strings.Trim(braced, "{}")]; fixed {
			return key
		}
		id, known := ids[strings.Trim(braced, "{}")]
		if !known {
			t.Errorf("%s: belongings has no id for %s", pattern, braced)
		}
		return id.String()
	})
}
