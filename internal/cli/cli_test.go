package cli_test

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"samelift/internal/cli"
	"samelift/internal/sitefile"
)

// secret is the half of a token that must never be seen. It is made up.
const (
	secret = "AAtestsecretAAtestsecretAAtestsecret"
	token  = "12345678:" + secret
)

// said is what a command left behind.
type said struct {
	code     int
	out, err string
}

// command runs the program as a function.
func command(t *testing.T, stdin string, env []string, args ...string) said {
	t.Helper()
	var out, err bytes.Buffer
	code := cli.Main(context.Background(), env, strings.NewReader(stdin), &out, &err, args)
	s := said{code, out.String(), err.String()}
	s.keepsSecret(t)
	return s
}

func (s said) keepsSecret(t *testing.T) {
	t.Helper()
	if strings.Contains(s.out+s.err, secret) {
		t.Errorf("the token is shown:\n%s%s", s.out, s.err)
	}
}

// must is a command that has to succeed.
func must(t *testing.T, args ...string) said {
	t.Helper()
	s := command(t, "", nil, args...)
	if s.code != 0 {
		t.Fatalf("samelift %s: exit %d\n%s", strings.Join(args, " "), s.code, s.err)
	}
	return s
}

// file writes a file into a directory of the test's own.
func file(t *testing.T, name, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func demoFile(t *testing.T) string {
	t.Helper()
	return file(t, "site.yaml", string(sitefile.Demo(time.Now())))
}

// imported makes a database that holds the demo's site.
func imported(t *testing.T) string {
	t.Helper()
	db := filepath.Join(t.TempDir(), "site.db")
	must(t, "import", "--db", db, demoFile(t))
	return db
}

// A command line that cannot be meant ends with 2, help with 0; both say how to go on.
func TestCommandLine(t *testing.T) {
	for _, tt := range []struct {
		name string
		args []string
		code int
		says string
	}{
		{"help", []string{"--help"}, 0, "Usage: samelift"},
		{"nothing at all", nil, 0, "Usage: samelift"},
		{"help of a command", []string{"import", "--help"}, 0, "Usage: samelift import"},
		{"version", []string{"version"}, 0, "samelift "},
		{"unknown command", []string{"frobnicate"}, 2, "samelift --help"},
		{"unknown option", []string{"status", "--frobnicate"}, 2, "samelift --help"},
		{"argument left out", []string{"invite"}, 2, "<person>"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := command(t, "", nil, tt.args...)
			if s.code != tt.code || !strings.Contains(s.out+s.err, tt.says) {
				t.Errorf("exit %d, want %d with %q:\n%s%s", s.code, tt.code, tt.says, s.out, s.err)
			}
			if tt.code == 0 && s.err != "" {
				t.Errorf("on standard error: %s", s.err)
			}
		})
	}
}

// Without a usable token nothing starts, and the sentence says what to do.
func TestToken(t *testing.T) {
	dir := t.TempDir()
	for _, tt := range []struct {
		name string
		env  []string
		says string
	}{
		{"none", nil, "SAMELIFT_TELEGRAM_TOKEN_FILE"},
		{"malformed", []string{"SAMELIFT_TELEGRAM_TOKEN=bot " + secret}, "BotFather"},
		{"only the secret half", []string{"SAMELIFT_TELEGRAM_TOKEN=" + secret}, "BotFather"},
		{"in two lines", []string{"SAMELIFT_TELEGRAM_TOKEN=12345678:\n" + secret}, "BotFather"},
		{"a file that is not there", []string{"SAMELIFT_TELEGRAM_TOKEN_FILE=" + filepath.Join(dir, "none")}, "SAMELIFT_TELEGRAM_TOKEN_FILE"},
		{"a directory as the file", []string{"SAMELIFT_TELEGRAM_TOKEN_FILE=" + dir}, "SAMELIFT_TELEGRAM_TOKEN_FILE"},
		{"an empty file", []string{"SAMELIFT_TELEGRAM_TOKEN_FILE=" + file(t, "token", "\n")}, "BotFather"},
		{"a malformed file", []string{"SAMELIFT_TELEGRAM_TOKEN_FILE=" + file(t, "token", "x"+token)}, "BotFather"},
		{"an address that is none", []string{"SAMELIFT_TELEGRAM_TOKEN=" + token, "SAMELIFT_TELEGRAM_API=ftp://127.0.0.1/" + token}, "https://"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			db := filepath.Join(t.TempDir(), "none.db")
			s := command(t, "", tt.env, "run", "--db", db)
			if s.code != 1 || !strings.Contains(s.err, tt.says) {
				t.Errorf("exit %d, want 1 with %q:\n%s", s.code, tt.says, s.err)
			}
			if _, err := os.Stat(db); err == nil {
				t.Error("a database was made all the same")
			}
		})
	}
}

// watched passes on what is logged and calls found when a line holds a text.
type watched struct {
	bytes.Buffer
	mu    sync.Mutex
	text  string
	found func()
}

func (w *watched) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if bytes.Contains(p, []byte(w.text)) {
		w.found()
	}
	return w.Buffer.Write(p)
}

// The process starts while the platform is down, goes on trying, and ends when it is
// told to; the addresses in its errors hold the token, its output never does.
func TestRunWhileThePlatformIsDown(t *testing.T) {
	down := httptest.NewServer(http.NotFoundHandler())
	down.Close() // its port refuses from now on
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	log := &watched{text: "attempt=1", found: cancel}
	db := imported(t)
	code := cli.Main(ctx, []string{"SAMELIFT_TELEGRAM_TOKEN=" + token, "SAMELIFT_TELEGRAM_API=" + down.URL}, strings.NewReader(""), io.Discard, log, []string{"run", "--db", db})
	said{err: log.String()}.keepsSecret(t)
	if code != 0 || !strings.Contains(log.String(), "fetching updates failed") {
		t.Errorf("exit %d:\n%s", code, log.String())
	}
}

// A token that the platform does not know ends the process with a sentence about it,
// whatever the platform echoes.
func TestRunWithARevokedToken(t *testing.T) {
	api := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.WriteHeader(http.StatusUnauthorized)
		io.WriteString(w, `{"ok":false,"error_code":401,"description":"Unauthorized `+r.URL.Path+`"}`)
	}))
	defer api.Close()
	s := command(t, "", []string{"SAMELIFT_TELEGRAM_TOKEN_FILE=" + file(t, "token", token+"\n"), "SAMELIFT_TELEGRAM_API=" + api.URL}, "run", "--db", filepath.Join(t.TempDir(), "empty.db"))
	if s.code != 1 || !strings.Contains(s.err, "revoked") {
		t.Errorf("exit %d:\n%s", s.code, s.err)
	}
	if !strings.Contains(s.err, "no site yet") {
		t.Errorf("it does not say that the database is empty:\n%s", s.err)
	}
}

// Every fault of a file is named by file, line, column and field at once, and nothing is
// written.
func TestImportNamesEveryFault(t *testing.T) {
	bad := string(sitefile.Demo(time.Now()))
	for _, r := range [][2]string{
		{"zone: Europe/London", "zone: Mars/Base"}, {"role: coordinator", "role: boss"},
		{"size: A2, label: S-021", "size: A9, label: S-021"}, {"to: wheelchair", "to: sofa"},
		{"hoist: H-01", "hoist: H-99"}, {"mass_kg: 63.5", "mass_kg: heavy"},
	} {
		if !strings.Contains(bad, r[0]) {
			t.Fatalf("the demo's site has no %q any more", r[0])
		}
		bad = strings.ReplaceAll(bad, r[0], r[1])
	}
	path, db := file(t, "bad.yaml", bad), filepath.Join(t.TempDir(), "new.db")
	s := command(t, "", nil, "import", "--db", db, path)
	if s.code != 1 {
		t.Errorf("exit %d", s.code)
	}
	lines := strings.Split(strings.TrimSpace(s.err), "\n")
	form := regexp.MustCompile(`^` + regexp.QuoteMeta(path) + `:[0-9]+:[0-9]+: [a-z_]+[a-z_.\[\]0-9]*: .+`)
	for _, l := range lines[:len(lines)-1] {
		if !form.MatchString(l) {
			t.Errorf("a fault without its place: %s", l)
		}
	}
	if last := lines[len(lines)-1]; !strings.Contains(last, "nothing was changed") {
		t.Errorf("it ends with: %s", last)
	}
	for _, field := range []string{"site.zone", ".role", ".sling.size", ".to", ".hoist", ".mass_kg"} {
		if !strings.Contains(s.err, field+": ") {
			t.Errorf("no fault of %s:\n%s", field, s.err)
		}
	}
	if s := must(t, "status", "--db", db); strings.Contains(s.out, "Site ") {
		t.Errorf("something was written: %s", s.out)
	}
}

// Nine to the ninth aliases are refused before they are followed.
func TestImportRefusesAliasesThatExplode(t *testing.T) {
	var b strings.Builder
	b.WriteString("a0: &a0 [x]\n")
	for i := range 9 {
		was, is := "*a"+string(rune('0'+i)), "a"+string(rune('1'+i))
		b.WriteString(is + ": &" + is + " [" + strings.TrimSuffix(strings.Repeat(was+",", 9), ",") + "]\n")
	}
	b.WriteString("site: *a9\n")
	s := command(t, "", nil, "import", "--db", filepath.Join(t.TempDir(), "new.db"), file(t, "bomb.yaml", b.String()))
	if s.code != 1 || !strings.Contains(s.err, "alias") || strings.Contains(s.err, ": : ") {
		t.Errorf("exit %d:\n%.500s", s.code, s.err)
	}
}

// The same file again changes nothing; a checked file changes nothing either.
func TestImportTwice(t *testing.T) {
	db, path := filepath.Join(t.TempDir(), "site.db"), demoFile(t)
	if s := must(t, "import", "--check", "--db", db, path); !strings.Contains(s.out, "no faults") {
		t.Errorf("checked: %s", s.out)
	}
	if s := must(t, "status", "--db", db); strings.Contains(s.out, "Site ") {
		t.Errorf("--check wrote something: %s", s.out)
	}
	if s := must(t, "import", "--db", db, path); !strings.Contains(s.out, "Site larch: ") {
		t.Errorf("first: %s", s.out)
	}
	before := must(t, "export", "--db", db).out
	if s := must(t, "import", "--db", db, path); !strings.Contains(s.out, "Nothing has changed") {
		t.Errorf("again: %s", s.out)
	}
	if after := must(t, "export", "--db", db).out; after != before {
		t.Error("the second import has changed the site")
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if s := command(t, string(data), nil, "import", "--db", db, "-"); s.code != 0 || !strings.Contains(s.out, "Nothing has changed") {
		t.Errorf("from standard input: %+v", s)
	}
}

// What is exported makes the same site elsewhere, which exports to the same file; only
// its owner may read a file that names people.
func TestExportElsewhere(t *testing.T) {
	dir := t.TempDir()
	first, second := filepath.Join(dir, "first.yaml"), filepath.Join(dir, "second.yaml")
	must(t, "export", "--db", imported(t), first)
	other := filepath.Join(dir, "other.db")
	must(t, "import", "--db", other, first)
	must(t, "export", "--db", other, second)
	a, err := os.ReadFile(first)
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(second)
	if err != nil {
		t.Fatal(err)
	}
	if len(a) < 1000 || !bytes.Equal(a, b) {
		t.Errorf("%d bytes were exported, then %d others", len(a), len(b))
	}
	if info, err := os.Stat(first); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
}

func TestInvite(t *testing.T) {
	db := imported(t)
	s := must(t, "invite", "--db", db, "elena")
	codes := regexp.MustCompile(`(?m)^/start (\S+)$`).FindStringSubmatch(s.out)
	// A deep link carries at most 64 of these characters (Bot API, "Deep linking").
	if codes == nil || !regexp.MustCompile(`^[A-Za-z0-9_-]{20,64}$`).MatchString(codes[1]) {
		t.Fatalf("no code: %s", s.out)
	}
	if !strings.Contains(s.out, "start="+codes[1]) {
		t.Errorf("no link: %s", s.out)
	}
	data, err := os.ReadFile(db)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(data, []byte(codes[1])) {
		t.Error("the database holds the code itself")
	}
	if s := command(t, "", nil, "invite", "--db", db, "nobody"); s.code != 1 || !strings.Contains(s.err, "people") {
		t.Errorf("an unknown person: %+v", s)
	}
	if s := command(t, "", nil, "invite", "--db", db, "--site", "elsewhere", "elena"); s.code != 1 || !strings.Contains(s.err, "larch") {
		t.Errorf("an unknown site: %+v", s)
	}
}

func TestStatus(t *testing.T) {
	s := must(t, "status", "--db", imported(t))
	if !strings.Contains(s.out, "waiting to be sent: 0") || !strings.Contains(s.out, "Site larch") {
		t.Errorf("%s", s.out)
	}
	if strings.Contains(s.out, "Tilda") || strings.Contains(s.out, "Elena") {
		t.Errorf("it names people: %s", s.out)
	}
}

// What stands where the database should be is said in words, and is left as it is.
func TestDatabase(t *testing.T) {
	newer := imported(t)
	db, err := sql.Open("sqlite", newer)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, 1)`); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	other := file(t, "letter.db", strings.Repeat("This is no database. ", 100))
	missing := filepath.Join(dir, "missing.db")
	for _, tt := range []struct {
		name, path string
		says       string
		onImport   bool
	}{
		{"a newer version's", newer, "newer version", true},
		{"a directory", dir, "is a directory", true},
		{"in no directory", filepath.Join(dir, "no", "such.db"), "", true},
		{"some other file", other, "cannot be read as a samelift database", true},
		{"nothing", missing, "samelift import FILE", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			before, _ := os.ReadFile(tt.path)
			commands := [][]string{{"status"}, {"export"}, {"invite", "elena"}}
			if tt.onImport {
				commands = append(commands, []string{"import", demoFile(t)}, []string{"run"})
			}
			for _, c := range commands {
				s := command(t, "", []string{"SAMELIFT_TELEGRAM_TOKEN=" + token}, append(c, "--db", tt.path)...)
				if s.code != 1 || s.out != "" || !strings.Contains(s.err, tt.says) || !strings.Contains(s.err, filepath.Base(tt.path)) && !strings.Contains(s.err, "no directory") {
					t.Errorf("%s: exit %d, want 1 with %q:\n%s%s", c[0], s.code, tt.says, s.out, s.err)
				}
			}
			if after, _ := os.ReadFile(tt.path); !bytes.Equal(before, after) {
				t.Error("the file was changed")
			}
			if _, err := os.Stat(missing); err == nil {
				t.Error("a mistyped name made a database")
			}
		})
	}
}

const questions = "../../testdata/questions/site.yaml"

func TestAsk(t *testing.T) {
	s := must(t, "ask", "--site", questions, "which", "loops", "for", "Rosa,", "bed", "to", "chair?")
	for _, l := range []string{"client: rosa\n", "from: bed\n", "to: chair\n", "topics: [loops]\n", "emergency: false\n"} {
		if !strings.Contains(s.out, l) {
			t.Errorf("no %q in\n%s", l, s.out)
		}
	}
	if s := must(t, "ask", "--site", questions, "--explain", "Lindqvist?"); !strings.Contains(s.out, "client: \n") || !strings.Contains(s.out, "oskar") || !strings.Contains(s.out, "rosa") {
		t.Errorf("two who could be meant:\n%s", s.out)
	}
	if s := command(t, "", nil, "ask", "--site", questions); s.code != 2 {
		t.Errorf("no question: %+v", s)
	}
	if s := command(t, "", nil, "ask", "--site", file(t, "bad.yaml", "site: 5\n"), "Rosa?"); s.code != 1 || !strings.Contains(s.err, "--check") {
		t.Errorf("a faulty file: %+v", s)
	}
}

// One object a line and one answer a line, in order; a malformed line costs only itself.
func TestAskJSON(t *testing.T) {
	in := `{"id":1,"lang":"en","text":"which sling for Rosa Lindqvist, bed to chair?"}
this is no JSON
{"id":"three","lang":"en","text":"Lindqvist"}
{"id":4}
{"id":5,"lang":"en","text":"` + strings.Repeat("x", 100_000) + `"}
{"id":6,"lang":"en","text":"Rosa is on the floor, she fell and is bleeding"}
`
	s := command(t, in, nil, "ask", "--site", questions, "--json")
	if s.code != 0 || s.err != "" {
		t.Fatalf("%+v", s)
	}
	type answer struct {
		ID         any
		Client     *string
		Candidates []string
		From, To   *string
		Topics     []string
		Emergency  bool
		Error      string
	}
	var got []answer
	for _, l := range strings.Split(strings.TrimSpace(s.out), "\n") {
		var a answer
		if err := json.Unmarshal([]byte(l), &a); err != nil {
			t.Fatalf("%v: %s", err, l)
		}
		got = append(got, a)
	}
	if len(got) != 6 {
		t.Fatalf("%d answers to 6 lines:\n%s", len(got), s.out)
	}
	if a := got[0]; a.ID != 1.0 || a.Client == nil || *a.Client != "rosa" || a.From == nil || *a.From != "bed" || a.Emergency {
		t.Errorf("first: %+v", a)
	}
	if a := got[2]; a.ID != "three" || a.Client != nil || len(a.Candidates) != 2 {
		t.Errorf("third: %+v", a)
	}
	for _, i := range []int{1, 3, 4} {
		if got[i].Error == "" {
			t.Errorf("line %d: %+v", i+1, got[i])
		}
	}
	if !got[5].Emergency {
		t.Errorf("last: %+v", got[5])
	}
}
