package app

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"time"

	"ropewalk.example/internal/config"
	"ropewalk.example/internal/metrics"
)

// work does what a server does besides answering people: it makes files, keeps
// the gyms' promises to forget, and makes backups at night. It answers nothing
// but whether it is well.
func work(ctx context.Context, conf config.Config, log *slog.Logger, stdout io.Writer) error {
	conf.Work = true
	db, err := openCounted(ctx, conf, log, metrics.New(version()))
	if err != nil {
		return err
	}
	defer db.close()
	site, tlsConfig, err := newSite(conf, db, log, time.Now)
	if err != nil {
		return err
	}
	if err := nightly(ctx, conf, db, log); err != nil {
		return err
	}
	return run(ctx, conf, db, site, site.Health(), tlsConfig, stdout, func(address string) {
		fmt.Fprintf(stdout, "Ropewalk works in the background here.\nRopewalk is at %s\n", address)
	})
}
