package app

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/config"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/reporting"
)

// bringIn makes a gym of an export of all its data, beside whatever gyms there
// are. Whoever can start programs on this machine can read the database anyway.
func bringIn(ctx context.Context, conf config.Config, log *slog.Logger, args []string, stdout io.Writer) error {
	if len(args) != 1 {
		return problem.New(problem.Invalid, "Write: ropewalk import FILE, with the ZIP file that holds all data of a gym.")
	}
	file, err := os.Open(args[0])
	if err != nil {
		return problem.Wrap(err, problem.NotFound, "The file %s cannot be read. Check its name and whether you may read it.", args[0])
	}
	defer file.Close()
	about, err := file.Stat()
	if err != nil {
		return fmt.Errorf("looking at %s: %w", args[0], err)
	}
	db, err := openDatabase(ctx, conf, log)
	if err != nil {
		return err
	}
	defer db.close()
	r := &reporting.Reporting{Store: db.store, Now: time.Now}
	done, err := r.Import(ctx, uuid.Must(uuid.NewV7()), file, about.Size(), nil)
	if err != nil {
		return err
	}
	fmt.Fprintf(stdout, "%s is here, with %d rows. Nobody can sign in yet: no passwords came along.\n"+
		"Give its owner a new one with: ropewalk user recover NAME\n"+
		"The owner then gives the others new passwords, PINs and class codes.\n", done.Name, done.Rows)
	return nil
}
