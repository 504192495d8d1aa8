package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"samelift/internal/care"
	"samelift/internal/chat"
	"samelift/internal/sitefile"
	"samelift/internal/sitefile/sitetest"
	"samelift/internal/store"
	"samelift/internal/telegram"
)

// platform is the smallest Bot API that asks questions and takes answers.
type platform struct {
	mu       sync.Mutex
	polled   chan struct{} // closed at the first poll
	once     sync.Once
	first    int      // the id of the first update
	pending  []string // updates as JSON, in the order of their ids
	more     chan struct{}
	answered int
	done     chan struct{} // closed once want messages have come
	want     int
}

func (p *platform) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	r.ParseMultipartForm(1 << 20) // pictures come as multipart, all else as a form
	result := "true"
	switch method := r.URL.Path[strings.LastIndex(r.URL.Path, "/")+1:]; method {
	case "getMe":
		result = `{"id":12345678,"is_bot":true,"first_name":"Bench","username":"bench_bot"}`
	case "getUpdates":
		p.once.Do(func() { close(p.polled) })
		offset, _ := strconv.Atoi(r.FormValue("offset"))
		updates := p.from(offset)
		if len(updates) == 0 {
			select {
			case <-p.more:
				updates = p.from(offset)
			case <-r.Context().Done():
			}
		}
		result = "[" + strings.Join(updates, ",") + "]"
	case "sendMessage", "sendPhoto":
		p.mu.Lock()
		// A photo without words goes ahead of the message that has them.
		if r.FormValue("text") != "" || r.FormValue("caption") != "" {
			if p.answered++; p.answered == p.want {
				close(p.done)
			}
		}
		result = fmt.Sprintf(`{"message_id":%d,"date":1,"chat":{"id":%s,"type":"private"},"text":"x"}`, p.answered, r.FormValue("chat_id"))
		p.mu.Unlock()
	}
	w.Header().Set("Content-Type", "application/json")
	fmt.Fprintf(w, `{"ok":true,"result":%s}`, result)
}

// from gives the updates that come next, a hundred at the most.
func (p *platform) from(offset int) []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	from := min(max(offset-p.first, 0), len(p.pending))
	return p.pending[from:min(from+100, len(p.pending))]
}

// ask has people write, and returns a channel that closes when as many have been answered.
func (p *platform) ask(chats []int64, texts []string) <-chan struct{} {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.answered, p.want, p.done = 0, len(texts), make(chan struct{})
	for i, text := range texts {
		quoted, _ := json.Marshal(text)
		p.pending = append(p.pending, fmt.Sprintf(`{"update_id":%d,"message":{"message_id":%d,"date":%d,"from":{"id":%[4]d,"is_bot":false,"first_name":"x","language_code":"en"},"chat":{"id":%[4]d,"type":"private"},"text":%s}}`,
			p.first+len(p.pending), len(p.pending)+1, time.Now().Unix(), chats[i], quoted))
	}
	select {
	case p.more <- struct{}{}:
	default:
	}
	return p.done
}

// resident reads a process's resident memory, in MB of a million bytes.
func resident(b *testing.B, pid int) float64 {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		b.Fatal(err)
	}
	for _, l := range strings.Split(string(data), "\n") {
		if f := strings.Fields(l); len(f) == 3 && f[0] == "VmRSS:" {
			kib, err := strconv.ParseFloat(f[1], 64)
			if err != nil {
				b.Fatal(err)
			}
			return kib * 1024 / 1e6
		}
	}
	b.Fatal("no VmRSS")
	return 0
}

// The resident memory of a real process that serves 1,000 clients and 200 carers: once
// it polls, after the first answer, and after 1,000 questions. The aim: under 80 MB. And
// the time from starting it to its first poll and its first answer. The aim: a second.
func BenchmarkProcess(b *testing.B) {
	if _, err := os.Stat("/proc/self/status"); err != nil {
		b.Skip("this system has no /proc")
	}
	dir := b.TempDir()
	program, db := filepath.Join(dir, "samelift"), filepath.Join(dir, "large.db")
	if out, err := exec.Command("go", "build", "-o", program, "samelift/cmd/samelift").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	site := sitetest.Large(time.Now(), 1000, 200)
	var yaml bytes.Buffer
	if err := sitefile.Write(&yaml, site); err != nil {
		b.Fatal(err)
	}
	imp := exec.Command(program, "import", "--db", db, "-")
	imp.Stdin = &yaml
	if out, err := imp.CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	join(b, db, site)

	var started, first, served, toPoll, toAnswer float64
	next := 1
	for b.Loop() {
		p := &platform{polled: make(chan struct{}), more: make(chan struct{}, 1), first: next}
		next += 10_000 // ids that no process before was told
		api := httptest.NewServer(p)
		run := exec.Command(program, "run", "--db", db)
		run.Env = append(os.Environ(), "SAMELIFT_TELEGRAM_TOKEN="+token, "SAMELIFT_TELEGRAM_API="+api.URL)
		begun := time.Now()
		if err := run.Start(); err != nil {
			b.Fatal(err)
		}
		await(b, p.polled)
		toPoll = time.Since(begun).Seconds() * 1000
		started = resident(b, run.Process.Pid)
		chats, texts := questionsOf(site, 1000)
		await(b, p.ask(chats[:1], texts[:1]))
		toAnswer = time.Since(begun).Seconds() * 1000
		first = resident(b, run.Process.Pid)
		await(b, p.ask(chats, texts))
		served = resident(b, run.Process.Pid)
		if err := run.Process.Signal(syscall.SIGTERM); err != nil {
			b.Fatal(err)
		}
		if err := run.Wait(); err != nil {
			b.Fatal(err)
		}
		api.Close()
	}
	b.ReportMetric(toPoll, "ms-to-poll")
	b.ReportMetric(toAnswer, "ms-to-answer")
	b.ReportMetric(started, "MB-started")
	b.ReportMetric(first, "MB-first")
	b.ReportMetric(served, "MB-1000")
}

// join has everybody joined, each from the chat that chatOf gives.
func join(b *testing.B, db string, site *care.Site) {
	s, err := store.Open(context.Background(), db)
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	err = s.Update(context.Background(), time.Now(), func(tx *store.Tx) error {
		for i, p := range site.People {
			address := chat.Address{Transport: telegram.Name, Chat: strconv.FormatInt(chatOf(i), 10)}
			if err := tx.Join(site.Ref, p.Ref, address, "en"); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
}

func chatOf(person int) int64 { return int64(1001 + person) }

// questionsOf gives n questions of carers in turn, each about one of their clients.
func questionsOf(site *care.Site, n int) (chats []int64, texts []string) {
	for i := range n {
		k := i % 200
		who := site.People[k]
		client, _ := site.Client(who.CaresFor[i/200%len(who.CaresFor)])
		chats = append(chats, chatOf(k))
		texts = append(texts, "which loops for "+client.Name+", from the bed?")
	}
	return chats, texts
}

func await(b *testing.B, done <-chan struct{}) {
	b.Helper()
	select {
	case <-done:
	case <-time.After(time.Minute):
		b.Fatal("nothing came within a minute")
	}
}
