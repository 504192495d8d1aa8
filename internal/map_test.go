package internal

import (
	"go/parser"
	"go/token"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// The map in the package comment is the truth about who imports whom; this test reads
// both and compares.
func TestImportsKeepToTheMap(t *testing.T) {
	f, err := parser.ParseFile(token.NewFileSet(), "doc.go", nil, parser.ParseComments)
	if err != nil {
		t.Fatal(err)
	}
	may := map[string][]string{}
	for _, line := range strings.Split(f.Doc.Text(), "\n") {
		room, rest, ok := strings.Cut(strings.TrimSpace(line), "->")
		if !ok {
			continue
		}
		rest = strings.TrimSpace(rest)
		if rest == "nothing of ours" {
			rest = ""
		}
		rest, _, _ = strings.Cut(rest, " (")
		may[strings.TrimSpace(room)] = strings.Fields(rest)
	}
	if len(may) < 10 {
		t.Fatalf("the map in doc.go cannot be read: %v", may)
	}
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "./...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	const house = "samelift/internal/"
	seen := map[string]bool{}
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		words := strings.Fields(line)
		room := strings.TrimPrefix(words[0], house)
		if words[0] == "samelift/internal" || strings.Contains(room, "/") {
			continue
		}
		seen[room] = true
		allowed, known := may[room]
		if !known {
			t.Errorf("the package %s is not in the map of doc.go", room)
			continue
		}
		if slices.Contains(allowed, "anything") {
			continue
		}
		for _, imported := range words[1:] {
			other, ours := strings.CutPrefix(imported, "samelift/")
			if !ours {
				continue
			}
			other = strings.TrimPrefix(other, "internal/")
			if !slices.Contains(allowed, other) {
				t.Errorf("%s imports %s, and the map says it may import %v", room, other, allowed)
			}
		}
	}
	for room := range may {
		if !seen[room] {
			t.Errorf("the map names %s, and there is no such package", room)
		}
	}
}

// The pure core knows no clock, disk, network or words: the standard packages for them
// are not imported there.
func TestTheCoreIsPure(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "./care", "./rules", "./ask", "./dialog").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		words := strings.Fields(line)
		for _, imported := range words[1:] {
			if slices.Contains([]string{"context", "os", "net", "net/http", "database/sql", "log", "log/slog", "crypto/rand", "math/rand", "math/rand/v2"}, imported) {
				t.Errorf("%s imports %s", words[0], imported)
			}
		}
	}
	for _, room := range []string{"care", "rules", "ask", "dialog"} {
		files, err := os.ReadDir(room)
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			if !strings.HasSuffix(file.Name(), ".go") || strings.HasSuffix(file.Name(), "_test.go") {
				continue
			}
			b, err := os.ReadFile(room + "/" + file.Name())
			if err != nil {
				t.Fatal(err)
			}
			if strings.Contains(string(b), "time.Now(") {
				t.Errorf("%s/%s reads the clock", room, file.Name())
			}
		}
	}
}

// The top level is exactly what the contributors' guide says.
func TestTopLevel(t *testing.T) {
	want := []string{"DEVELOPERS.md", "LICENSE", "README.md", "cmd", "go.mod", "go.sum", "internal", "locales", "migrations", "testdata"}
	entries, err := os.ReadDir("..")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		name := e.Name()
		if !strings.HasPrefix(name, ".") && !slices.Contains(want, name) && !ignored(name) {
			t.Errorf("%s does not belong at the top level", name)
		}
	}
}

// ignored are what .gitignore leaves out: a built program, a database somebody tried.
func ignored(name string) bool {
	return name == "samelift" || name == "out" || strings.HasSuffix(name, ".db") || strings.Contains(name, ".db-")
}
