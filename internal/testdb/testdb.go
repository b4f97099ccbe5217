// Package testdb gives each test a fresh, migrated database of its own, in a
// fraction of a second: a copy of a template that is migrated once. The server
// behind it is shared by the tests of one package and ends with them. Only
// tests import this package; it imports store, localpg and migrations.
package testdb

import (
	"context"
	"database/sql"
	"net/url"
	"sync"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver that pgtestdb asks for by name
	"github.com/peterldowns/pgtestdb"
	"github.com/peterldowns/pgtestdb/migrators/common"

	"ropewalk.example/internal/store"
	"ropewalk.example/migrations"
)

// appPassword lets the app role sign in; test servers hold no secrets.
const appPassword = "app"

// DB is one test's database.
type DB struct {
	OwnerURL string // as the schema's owner, a superuser that row-level security does not bind
	AppURL   string // as the role of the running app, bound by row-level security
}

// server is this test program's one server.
var server = sync.OnceValues(startServer)

// New returns a fresh migrated database that lives until t ends.
func New(t testing.TB) DB {
	t.Helper()
	running, err := server()
	if err != nil {
		t.Fatal(err)
	}
	address := running.address
	database := pgtestdb.Custom(quiet{t}, configOf(address), migrator{address}).Database
	return DB{
		OwnerURL: at(address, address.User, database),
		AppURL:   at(address, url.UserPassword(store.AppRole, appPassword), database),
	}
}

// quiet keeps pgtestdb from logging the address of a database that will be gone.
type quiet struct{ testing.TB }

// Logf drops the message.
func (quiet) Logf(string, ...any) {}

// configOf tells pgtestdb of the server; the superuser there owns the databases.
func configOf(server *url.URL) pgtestdb.Config {
	password, _ := server.User.Password()
	name, password := url.QueryEscape(server.User.Username()), url.QueryEscape(password)
	return pgtestdb.Config{
		DriverName:                "pgx",
		Host:                      server.Hostname(),
		Port:                      server.Port(),
		User:                      name,
		Password:                  password,
		Database:                  server.Path[1:],
		Options:                   server.RawQuery,
		TestRole:                  &pgtestdb.Role{Username: name, Password: password},
		ForceTerminateConnections: true, // pools close in the tests' own clean-up, some of it later
	}
}

// at returns the address of a database on the server, for the given role.
func at(server *url.URL, role *url.Userinfo, database string) string {
	address := *server
	address.User, address.Path = role, "/"+database
	return address.String()
}

// A migrator makes the template.
type migrator struct{ server *url.URL }

// Hash names the template after the migrations, so that a changed migration
// gets a new one on a server that outlives the tests.
func (migrator) Hash() (string, error) { return common.HashDirs(migrations.FS, "*.sql", ".") }

// Migrate makes the roles and the schema.
func (m migrator) Migrate(ctx context.Context, _ *sql.DB, template pgtestdb.Config) error {
	owner := at(m.server, m.server.User, template.Database)
	if err := store.EnsureRoles(ctx, owner, appPassword); err != nil {
		return err
	}
	return store.Migrate(ctx, owner)
}
