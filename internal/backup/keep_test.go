package backup

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"ropewalk.example/internal/store"
)

func TestKeep(t *testing.T) {
	daysAgo := func(days ...int) []kept {
		var all []kept
		for _, n := range days {
			at := now.AddDate(0, 0, -n)
			all = append(all, kept{nameAt(at, false), at})
		}
		return all
	}
	for _, test := range []struct {
		name string
		keep Keep
		all  []kept
		gone []int
	}{
		{"none", Keep{Days: 30, Least: 3}, nil, nil},
		{"all young", Keep{Days: 30, Least: 3}, daysAgo(0, 1, 2, 29, 30), nil},
		{"old ones go", Keep{Days: 30, Least: 3}, daysAgo(31, 0, 1, 2, 40), []int{31, 40}},
		{"however old, three stay", Keep{Days: 30, Least: 3}, daysAgo(100, 200, 300, 400), []int{400}},
		{"two young, and the newest old one", Keep{Days: 7, Least: 3}, daysAgo(8, 1, 9, 0), []int{9}},
	} {
		t.Run(test.name, func(t *testing.T) {
			var want []string
			for _, one := range daysAgo(test.gone...) {
				want = append(want, one.name)
			}
			if got := test.keep.goes(test.all, now); !slices.Equal(got, want) {
				t.Errorf("gone are %v, want %v", got, want)
			}
		})
	}
}

func TestNames(t *testing.T) {
	for _, encrypted := range []bool{false, true} {
		name := nameAt(now, encrypted)
		if at, ok := timeOf(name); !ok || !at.Equal(now) {
			t.Errorf("%s is read as %v, %v", name, at, ok)
		}
	}
	for _, name := range []string{"ropewalk-.tar", "ropewalk-20261104T120000Z", "notes.tar", "ropewalk-20261104T120000Z.tar.gz", "making-1"} {
		if at, ok := timeOf(name); ok {
			t.Errorf("%s is taken for a backup of %v", name, at)
		}
	}
}

func TestDue(t *testing.T) {
	at := func(text string) time.Time {
		moment, err := time.Parse("2006-01-02 15:04", text)
		if err != nil {
			t.Fatal(err)
		}
		return moment
	}
	for _, test := range []struct {
		name, last, now string
		due             bool
		next            string // "": now
	}{
		{"made this night", "2026-11-04 03:05", "2026-11-04 12:00", false, "2026-11-05 03:00"},
		{"made by hand last evening", "2026-11-03 20:00", "2026-11-04 03:00", true, ""},
		{"not three yet", "2026-11-03 03:05", "2026-11-04 02:59", false, "2026-11-04 03:00"},
		{"three", "2026-11-03 03:05", "2026-11-04 03:00", true, ""},
		{"the machine was off at night", "2026-11-03 03:05", "2026-11-04 17:30", true, ""},
		{"off for a week", "2026-10-28 03:05", "2026-11-04 01:00", true, ""},
		{"on the last day of the year", "2026-12-31 03:05", "2026-12-31 12:00", false, "2027-01-01 03:00"},
	} {
		want := at(test.now)
		if test.next != "" {
			want = at(test.next)
		}
		if got := Next(at(test.last), at(test.now)); !got.Equal(want) {
			t.Errorf("%s: the next is due at %s, want %s", test.name, got, want)
		}
		if got := Due(at(test.last), at(test.now)); got != test.due {
			t.Errorf("%s: due is %v", test.name, got)
		}
	}
	if !Due(time.Time{}, now) {
		t.Error("never made, and not due")
	}
}

func TestKeys(t *testing.T) {
	public, secret, err := NewKey()
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		text    string
		encrypt bool
		ok      bool
	}{
		{"", false, true}, {public, true, true}, {secret, true, true}, {public + ", " + secret, true, true},
		{"age1nonsense", false, false}, {"secret", false, false}, {secret[:40], false, false},
	} {
		keys, err := ReadKeys(test.text)
		if (err == nil) != test.ok || keys.Encrypt() != test.encrypt {
			t.Errorf("%q: encrypts %v, %v", test.text, keys.Encrypt(), err)
		}
	}
}

func TestWithoutPassword(t *testing.T) {
	for _, test := range []struct{ address, rest, password string }{
		{"postgres://own:a%2Fb%40c@db:5432/rope?pool_max_conns=4&sslmode=require", "postgres://own@db:5432/rope?sslmode=require", "a/b@c"},
		{"postgres://db/rope", "postgres://db/rope", ""},
		{"host=db user=own password=secret dbname=rope", "host=db user=own  dbname=rope", "secret"},
		{`host=db password='it\'s secret'`, "host=db", "it's secret"},
	} {
		if rest, password := withoutPassword(test.address); rest != test.rest || password != test.password {
			t.Errorf("%s is read as %s and %s", test.address, rest, password)
		}
	}
}

// What cannot be backed up is said, and nothing half done stays.
func TestNoBackup(t *testing.T) {
	m := newMachine(t)
	m.fill()
	m.put("backups/making-old/dump", "a program was killed here")
	path, _ := m.made()
	if left := namesIn(t, m.Dir); !slices.Equal(left, []string{filepath.Base(path)}) {
		t.Errorf("in the folder are %v", left)
	}
	if at, name, err := m.Newest(); err != nil || name != filepath.Base(path) || !at.Equal(now) {
		t.Errorf("the newest is %s of %v, %v", name, at, err)
	}

	err := store.BackingUp(t.Context(), m.OwnerURL, func() error {
		done, err := m.Make(t.Context())
		says(t, err, "A backup is being made at this moment.")
		if done.Good() || done.Fault == "" {
			t.Errorf("noted as %+v", done)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	m.do(`CREATE ROLE plain LOGIN PASSWORD 'plain'`, `GRANT SELECT ON ALL TABLES IN SCHEMA public TO plain`)
	walled := *m.Backups
	_, query, _ := strings.Cut(m.OwnerURL, "?")
	walled.OwnerURL = "postgres://plain:plain@/postgres?" + query
	_, err = walled.Make(t.Context())
	says(t, err, "ALTER ROLE ropewalk_backup BYPASSRLS")

	file := *m.Backups
	file.Dir = filepath.Join(m.DataDir, Tombstones)
	_, err = file.Make(t.Context())
	says(t, err, "Choose another one with ROPEWALK_BACKUPS.")
	if left := namesIn(t, m.Dir); len(left) != 1 {
		t.Errorf("in the folder are %v", left)
	}
}

func namesIn(t *testing.T, dir string) []string {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, file := range files {
		names = append(names, file.Name())
	}
	return names
}
