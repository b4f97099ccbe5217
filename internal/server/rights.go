package server

import (
	"context"
	"net/http"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// Short names for the rights of package account's table.
const (
	manageClasses = account.ManageClasses
	enterResults  = account.EnterResults
	planAndDecide = account.PlanAndDecide
	manageGym     = account.ManageGym
	ownPage       = account.OwnPage
	childPage     = account.ChildPage
	ownAccount    = account.OwnAccount
	seeHealth     = account.SeeHealth
)

func may(role gym.Role, right account.Right) bool { return account.May(role, right) }

// needs lets people pass who have the right.
func (s *Server) needs(right account.Right) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			switch me := who(r.Context()); {
			case me.Role == "":
				s.answerError(w, r, problem.New(problem.SignedOut, "You are signed out. Sign in, then do it once more."))
			case s.due(r.Context()) && right != ownAccount:
				http.Redirect(w, r, "/account/second-factor", http.StatusSeeOther)
			case !may(me.Role, right):
				s.answerError(w, r, problem.New(problem.Forbidden, "This page is not for you. Your coach or the gym's owner can tell you more."))
			default:
				next.ServeHTTP(w, r)
			}
		})
	}
}

// due reports whether this person must set up a second factor before anything
// else.
func (s *Server) due(ctx context.Context) bool {
	return s.SignIns.GetString(ctx, keyFactor) == factorDue
}
