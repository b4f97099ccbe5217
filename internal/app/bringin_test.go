package app_test

import (
	"archive/zip"
	"bytes"
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/demoseed"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

// allData writes all data of the invented gym to a file.
func allData(t *testing.T) string {
	t.Helper()
	st, err := store.Open(t.Context(), testdb.New(t).AppURL)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	hasher, err := account.NewHasher()
	if err != nil {
		t.Fatal(err)
	}
	seeder := demoseed.Seeder{Store: st, Hasher: hasher, Log: slog.New(slog.DiscardHandler)}
	if _, err := seeder.Fill(t.Context(), demo.Now()); err != nil {
		t.Fatal(err)
	}
	var body bytes.Buffer
	r := &reporting.Reporting{Store: st, Now: demo.Now}
	if err := r.ExportGym(context.WithoutCancel(t.Context()), demoseed.GymID(), &body); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "gym.zip")
	if err := os.WriteFile(path, body.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// All data of a gym make it anew on an empty server, and its owner gets in.
func TestImportMakesTheGym(t *testing.T) {
	file := allData(t)
	db := testdb.New(t)
	settings := []string{"DATABASE_URL=" + db.OwnerURL, "ROPEWALK_DATA=" + t.TempDir()}
	exit, stdout, stderr := once(t, settings, "import", file)
	if exit != 0 || !strings.Contains(stdout, "Tallowmere Rope Hall is here") {
		t.Fatalf("exit %d: %s%s", exit, stdout, stderr)
	}
	exit, stdout, stderr = once(t, settings, "user", "recover", "desmond@tallowmere.example")
	if exit != 0 || !strings.Contains(stdout, "New password") {
		t.Errorf("exit %d: %s%s", exit, stdout, stderr)
	}
}

func TestImportRefusesWhatIsNoExport(t *testing.T) {
	folder := t.TempDir()
	other := filepath.Join(folder, "other.zip")
	var body bytes.Buffer
	if err := zip.NewWriter(&body).Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(other, body.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	settings := []string{"DATABASE_URL=" + testdb.New(t).OwnerURL, "ROPEWALK_DATA=" + folder}
	for _, test := range []struct {
		args []string
		want string
	}{
		{[]string{"import"}, "Write: ropewalk import FILE"},
		{[]string{"import", filepath.Join(folder, "nowhere.zip")}, "cannot be read"},
		{[]string{"import", other}, "not an export"},
	} {
		if exit, _, stderr := once(t, settings, test.args...); exit == 0 || !strings.Contains(stderr, test.want) {
			t.Errorf("%v: exit %d, %s", test.args, exit, stderr)
		}
	}
}
