package server

import (
	"bytes"
	"net/url"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// exported returns all data of a gym.
func exported(t *testing.T, s *site, gymID uuid.UUID) []byte {
	t.Helper()
	var file bytes.Buffer
	if err := s.server.Reporting.ExportGym(t.Context(), gymID, &file); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

// An owner brings the gym into an empty install through the page: whole, or not at
// all with a sentence that says why.
func TestBringAGymAlong(t *testing.T) {
	h := newHall(t, "Ana Quill", "نور الحلواني")
	h.belongings()
	file := exported(t, h.site, h.id)
	var people []gym.Staff
	h.read(h.id, store.StaffList(&people))
	owner := people[0].SignInName

	s := newSite(t)
	code, err := s.server.Accounts.NewFirstCode(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	b := s.open()
	b.get("/setup").is(200).says("Bring it along")
	b.get("/setup/gym").is(200).says("Bring your gym along")
	bring := func(content []byte, f url.Values) *answer {
		return b.upload("/setup/gym", "file", "gym.zip", content, f)
	}
	right := func() url.Values { return form("code", code, "sign_in", owner, "password", password) }
	with := func(field, text string) url.Values {
		f := right()
		f.Set(field, text)
		return f
	}
	damaged := bytes.Clone(file)
	for i := len(file) / 4; i < len(file)*3/4; i += 997 { // wherever: names of parts stand in there twice
		damaged[i] ^= 0x55
	}
	for name, test := range map[string]struct {
		content []byte
		form    url.Values
		says    string
	}{
		"nothing typed":  {file, form("code", "", "sign_in", "", "password", ""), "Type the one-time code"},
		"another code":   {file, with("code", "AAAA-BBBB-CCCC-DDDD"), "That code does not match"},
		"short password": {file, with("password", "short"), "Use at least 12"},
		"a stranger":     {file, with("sign_in", "nobody@hall.example"), "No owner in this file signs in by that name"},
		"a coach":        {file, with("sign_in", people[1].SignInName), "No owner in this file signs in by that name"},
		"an empty file":  {nil, right(), "Choose the ZIP file"},
		"a roster":       {[]byte("name,birth year\nAna,2014\n"), right(), "not an export"},
		"damaged":        {damaged, right(), "damaged"},
		"cut off":        {file[:len(file)/2], right(), "not an export"},
	} {
		t.Run(name, func(t *testing.T) {
			bring(test.content, test.form).is(422).says("There is a problem", test.says)
			b.get("/setup/gym").is(200) // nobody came in, and the code is not used up
		})
	}
	b.upload("/setup/gym", "", "", nil, right()).is(422).says("Choose the ZIP file")

	bring(file, right()).leadsTo("/people")
	b.get("/people").is(200).says(people[1].Name)
	b.get("/athletes").is(200).says("Ana Quill", "نور الحلواني")
	s.open().post("/sign-in", form("name", owner, "password", password)).leadsTo("/")
	b.get("/setup/gym").is(404).says("set up already")
	bring(file, right()).is(404)
}
