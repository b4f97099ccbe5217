package account

import (
	"context"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// What the log says of changes to how somebody comes in.
const (
	changedPassword   = "changed the password"
	returnedByCode    = "chose a new password with a one-time code"
	gaveWayBack       = "gave a one-time code"
	setUpFactor       = "set up a second factor"
	tookFactorOff     = "took the second factor off"
	tookOthersOff     = "took a person's second factor off"
	madeRecoveryCodes = "made new recovery codes"
	operatorPassword  = "got a new password from the server's operator"
	operatorFactor    = "lost the second factor by the server's operator"
)

func waysInChanged() []string {
	return []string{changedPassword, returnedByCode, gaveWayBack, setUpFactor, tookFactorOff, tookOthersOff, madeRecoveryCodes, operatorPassword, operatorFactor}
}

// mostChanges is how many lines about a person are looked through: far more than
// there are between two sign-ins.
const mostChanges = 500

// WayInChanges returns, newest first, what was changed since then about how the
// person comes in, as the gym's log has it, so that it can be told (OWASP ASVS
// 4.0.3, 2.2.3 and 2.5.5): whoever did not do it learns of it.
func (a *Accounts) WayInChanges(ctx context.Context, gymID, person uuid.UUID, since time.Time) ([]gym.AuditLine, error) {
	var lines []gym.AuditLine
	if err := a.Store.Read(ctx, gymID, store.AuditLines(store.AuditFilter{About: person, From: since}, store.Page{Most: mostChanges}, &lines)); err != nil {
		return nil, err
	}
	return slices.DeleteFunc(lines, func(l gym.AuditLine) bool { return !slices.Contains(waysInChanged(), l.Action) }), nil
}

// noteEverywhere adds one line to the log of each gym where the person works.
func (a *Accounts) noteEverywhere(ctx context.Context, person uuid.UUID, action string) error {
	memberships, err := a.Store.MembershipsOf(ctx, person)
	if err != nil {
		return err
	}
	for _, m := range memberships {
		if err := a.note(ctx, m.GymID, person, action, "person", person); err != nil {
			return err
		}
	}
	return nil
}
