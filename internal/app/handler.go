package app

import (
	"log/slog"
	"net/http"
	"time"

	"ropewalk.example/internal/config"
	"ropewalk.example/internal/store"
)

// Handler returns the whole site on a store that is open already, for measuring
// what it asks of the database. Background work does not run.
func Handler(st *store.Store, log *slog.Logger) (http.Handler, error) {
	site, _, err := newSite(config.Config{}, &database{store: st}, log, time.Now)
	if err != nil {
		return nil, err
	}
	return site.Routes(), nil
}
