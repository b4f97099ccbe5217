package app

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"time"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/config"
	"ropewalk.example/internal/problem"
)

// user helps an owner who is locked out, from the machine that the server runs
// on: whoever can start programs there can read the database anyway.
func user(ctx context.Context, conf config.Config, log *slog.Logger, args []string, stdout io.Writer) error {
	if len(args) != 2 || args[0] != "recover" && args[0] != "second-factor-off" {
		return problem.New(problem.Invalid, "Write: ropewalk user recover NAME, or ropewalk user second-factor-off NAME, with the sign-in name.")
	}
	db, err := besideOrOpen(ctx, conf, log)
	if err != nil {
		return err
	}
	defer db.close()
	hasher, err := account.NewHasher()
	if err != nil {
		return err
	}
	accounts := &account.Accounts{Store: db.store, Hasher: hasher, Now: time.Now}
	if args[0] == "second-factor-off" {
		if err := accounts.DropFactor(ctx, args[1]); err != nil {
			return err
		}
		fmt.Fprintf(stdout, "The second factor of %s is off; the password is as it was.\nEvery sign-in of this person has ended.\n", args[1])
		return nil
	}
	password, err := accounts.Recover(ctx, args[1])
	if err != nil {
		return err
	}
	fmt.Fprintf(stdout, "New password of %s, valid at once: %s\nEvery sign-in of this person has ended.\n", args[1], password)
	return nil
}
