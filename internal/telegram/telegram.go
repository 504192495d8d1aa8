// Package telegram carries messages over the Telegram Bot API: it turns updates into
// chat.Inbound and chat.Outbound into calls, and tells what a failed call means. It
// owns the long poll, the escaping of markup and the redaction of the token. It keeps
// nothing on disk and decides nothing about care; repeats are the bot's to recognise.
//
// The library github.com/go-telegram-bot-api/telegram-bot-api/v5 supplies the types of
// updates and the form of a request. Everything it does not do is here: contexts,
// parameters newer than its release, typed errors, and a poll that confirms an update
// only after it was accepted.
package telegram

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"time"

	tgbotapi "github.com/go-telegram-bot-api/telegram-bot-api/v5"

	"samelift/internal/chat"
)

// Name is the word for this transport in addresses.
const Name = "telegram"

// DefaultAPI is where the platform answers.
const DefaultAPI = "https://api.telegram.org"

// Config is what a Transport needs.
type Config struct {
	// Token is the bot's own, as the platform gave it out.
	Token string
	// API is the base address; empty means DefaultAPI.
	API string
	// Logger gets warnings without tokens, texts or names. Nil: slog.Default.
	Logger *slog.Logger
	// HTTP makes the calls. It has no timeout of its own, since each call carries
	// one. Nil: a client with enough idle connections for the outbox.
	HTTP *http.Client
	// Poll is how long one call waits for updates, at most 50 s, which is also the
	// default: the platform answers no later whatever is asked (server source, 10.0).
	Poll time.Duration
	// SendTimeout is how long one send, download or other call may take; default 20 s.
	SendTimeout time.Duration
	// Backoff is the pause after that many failures in a row, counted from 0; default
	// Backoff.
	Backoff func(attempt int) time.Duration
	// Now is the clock for what the platform gives no time for; default time.Now.
	Now func() time.Time
}

// Transport is one bot on the platform. Its methods may be called from any goroutine,
// but only one Receive may run at a time.
type Transport struct {
	cfg      Config
	base     string // without a slash at the end
	endpoint string // the library's format of a call's address
	client   *http.Client
	log      *slog.Logger

	// sleep waits or ends with ctx; tests replace it.
	sleep func(ctx context.Context, d time.Duration) error

	mu         sync.Mutex
	pictured   map[string]string // by the keys of messages, the id of a picture that went ahead of its text
	registered map[string]bool   // menu calls that were accepted
}

var _ chat.Transport = (*Transport)(nil)

// Form of a token: the bot's number and a secret (common practice, no source; the
// bounds are ours and wide).
var tokenForm = regexp.MustCompile(`^[0-9]{3,20}:[A-Za-z0-9_-]{20,100}$`)

// New makes a transport without any call, so that a process can start while the
// platform is down. Its errors never show the token.
func New(cfg Config) (*Transport, error) {
	cfg.Token = strings.TrimSpace(cfg.Token)
	if cfg.Token == "" {
		return nil, errors.New("no Telegram token is set; ask BotFather for one with /newbot")
	}
	if !tokenForm.MatchString(cfg.Token) {
		return nil, errors.New("the Telegram token is malformed: it should be digits, a colon and about 35 letters, digits, _ or -; copy it again from BotFather")
	}
	if cfg.API == "" {
		cfg.API = DefaultAPI
	}
	u, err := url.Parse(cfg.API)
	if err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		return nil, errors.New("the address of the Telegram API is malformed: it should look like " + DefaultAPI)
	}
	if cfg.Logger == nil {
		cfg.Logger = slog.Default()
	}
	if cfg.Poll <= 0 || cfg.Poll > longestPoll {
		cfg.Poll = longestPoll
	}
	if cfg.SendTimeout <= 0 {
		cfg.SendTimeout = 20 * time.Second
	}
	if cfg.Backoff == nil {
		cfg.Backoff = Backoff
	}
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	t := &Transport{
		cfg:        cfg,
		base:       strings.TrimRight(cfg.API, "/"),
		client:     httpClient(cfg.HTTP),
		log:        cfg.Logger.With("transport", Name),
		sleep:      sleep,
		pictured:   map[string]string{},
		registered: map[string]bool{},
	}
	t.endpoint = strings.ReplaceAll(t.base, "%", "%%") + "/bot%s/%s"
	if u.Scheme == "http" && !loopback(u.Hostname()) {
		t.log.Warn("the Telegram API's address is not encrypted; messages can be read on the way")
	}
	quietLibrary()
	return t, nil
}

// Name is "telegram".
func (t *Transport) Name() string { return Name }

// Backoff is the pause after that many failures in a row: a quarter of a second,
// doubled each time, at most half a minute.
func Backoff(attempt int) time.Duration {
	return min(250*time.Millisecond<<min(max(attempt, 0), 10), 30*time.Second)
}

func sleep(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}

func loopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// httpClient never follows a redirect: it would pass the token on in a header.
func httpClient(given *http.Client) *http.Client {
	var c http.Client
	if given != nil {
		c = *given
	} else {
		tr := http.DefaultTransport.(*http.Transport).Clone()
		// Two idle connections, the default, mean a handshake for nearly every send
		// of a burst.
		tr.MaxIdleConnsPerHost = 100
		tr.MaxIdleConns = 100
		// A connection that the other end closes while it is used leaves a send
		// uncertain: let it go first.
		tr.IdleConnTimeout = 30 * time.Second
		// Over HTTP/2 everything shares one connection. Where a network drops it
		// without a word, only a ping finds out; else every send would time out.
		tr.HTTP2 = &http.HTTP2Config{SendPingTimeout: 15 * time.Second, PingTimeout: 10 * time.Second}
		c.Transport = tr
	}
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &c
}

// quietLibrary keeps the library's own logger, which prints addresses with tokens in
// them and whole messages, from standard error. Nothing here makes it log; this is the
// second lock.
var quietLibrary = sync.OnceFunc(func() {
	if err := tgbotapi.SetLogger(libraryLog{}); err != nil {
		slog.Warn("cannot quiet the Telegram library", "err", err)
	}
})

// libraryLog tells that there was something to log, and not what.
type libraryLog struct{}

func (libraryLog) Println(...any) {
	slog.Warn("the Telegram library logged something, which is not shown")
}
func (libraryLog) Printf(string, ...any) { libraryLog{}.Println() }
