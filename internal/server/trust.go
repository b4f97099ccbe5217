package server

import (
	"net/http"

	"ropewalk.example/internal/problem"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// Trust is the gym's own certificate authority, for phones to take.
type Trust struct {
	RootDER     []byte
	Fingerprint string
}

// getTrust shows how a phone comes to trust this server.
func (s *Server) getTrust(w http.ResponseWriter, r *http.Request) error {
	if s.Trust == nil {
		return problem.New(problem.NotFound, "This server has no certificate of its own to hand out. Nothing needs to be done on your phone.")
	}
	code, err := part.QR(s.addressOf(r) + "/trust/root.crt")
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Trust(s.bare(r, "Let your phone trust this gym"), code, s.Trust.Fingerprint))
}

func (s *Server) getRoot(w http.ResponseWriter, _ *http.Request) error {
	if s.Trust == nil {
		return problem.New(problem.NotFound, "This server has no certificate of its own to hand out.")
	}
	w.Header().Set("Content-Type", "application/x-x509-ca-cert")
	w.Header().Set("Content-Disposition", `attachment; filename="ropewalk.crt"`)
	_, err := w.Write(s.Trust.RootDER)
	return err
}

func (s *Server) getHelp(w http.ResponseWriter, r *http.Request) error {
	return render(w, r, http.StatusOK, page.Help(s.meta(r, "Help"), may(who(r.Context()).Role, enterResults)))
}
