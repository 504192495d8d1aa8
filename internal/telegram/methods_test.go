package telegram

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// param is one parameter of a method, or one field of an object, that we use.
type param struct {
	types    string // as Bot API 10.1 names them, alternatives parted by |
	required bool
	check    func(string) error // beyond the type: lengths and forms; may be nil
}

// methods are the calls we make and the parameters we use: names, types and which are
// required after Bot API 10.1 (2026-06-11); TestMethodTable compares them with a
// machine-readable copy where there is one. Lengths stand in that text as prose and
// are repeated here by hand.
var methods = map[string]map[string]param{
	"getMe": {},
	"getUpdates": {
		"offset":          {types: "Integer"},
		"timeout":         {types: "Integer", check: between(0, 50)},
		"allowed_updates": {types: "Array of String", check: updateKinds},
	},
	"sendMessage": {
		"chat_id":              {types: "Integer|String", required: true},
		"text":                 {types: "String", required: true, check: text(1, 4096)},
		"parse_mode":           {types: "String", check: oneOf("HTML")},
		"link_preview_options": {types: "LinkPreviewOptions"},
		"disable_notification": {types: "Boolean"},
		"protect_content":      {types: "Boolean"},
		"reply_markup":         {types: "InlineKeyboardMarkup|ReplyKeyboardMarkup|ReplyKeyboardRemove|ForceReply"},
	},
	"sendPhoto": {
		"chat_id":              {types: "Integer|String", required: true},
		"photo":                {types: "InputFile|String", required: true},
		"caption":              {types: "String", check: text(0, 1024)},
		"parse_mode":           {types: "String", check: oneOf("HTML")},
		"disable_notification": {types: "Boolean"},
		"protect_content":      {types: "Boolean"},
		"reply_markup":         {types: "InlineKeyboardMarkup|ReplyKeyboardMarkup|ReplyKeyboardRemove|ForceReply"},
	},
	"editMessageText": {
		"chat_id":              {types: "Integer|String"},
		"message_id":           {types: "Integer"},
		"text":                 {types: "String", check: text(1, 4096)},
		"parse_mode":           {types: "String", check: oneOf("HTML")},
		"link_preview_options": {types: "LinkPreviewOptions"},
		"reply_markup":         {types: "InlineKeyboardMarkup"},
	},
	"editMessageCaption": {
		"chat_id":      {types: "Integer|String"},
		"message_id":   {types: "Integer"},
		"caption":      {types: "String", check: text(0, 1024)},
		"parse_mode":   {types: "String", check: oneOf("HTML")},
		"reply_markup": {types: "InlineKeyboardMarkup"},
	},
	"editMessageMedia": {
		"chat_id":      {types: "Integer|String"},
		"message_id":   {types: "Integer"},
		"media":        {types: "InputMedia", required: true, check: photoMedia},
		"reply_markup": {types: "InlineKeyboardMarkup"},
	},
	"editMessageReplyMarkup": {
		"chat_id":    {types: "Integer|String"},
		"message_id": {types: "Integer"},
	},
	"answerCallbackQuery": {
		"callback_query_id": {types: "String", required: true},
	},
	"getFile": {
		"file_id": {types: "String", required: true},
	},
	"setMyCommands": {
		"commands":      {types: "Array of BotCommand", required: true, check: commands},
		"scope":         {types: "BotCommandScope"},
		"language_code": {types: "String", check: form("^[a-z]{2}$")},
	},
	"setMyDescription": {
		"description":   {types: "String", check: text(0, 512)},
		"language_code": {types: "String", check: form("^[a-z]{2}$")},
	},
	"setMyShortDescription": {
		"short_description": {types: "String", check: text(0, 120)},
		"language_code":     {types: "String", check: form("^[a-z]{2}$")},
	},
}

// objects are what we send as JSON within parameters.
var objects = map[string]map[string]param{
	"LinkPreviewOptions":   {"is_disabled": {types: "Boolean"}},
	"InlineKeyboardMarkup": {"inline_keyboard": {types: "Array of Array of InlineKeyboardButton", required: true}},
	"InlineKeyboardButton": {
		"text":          {types: "String", required: true},
		"callback_data": {types: "String"},
		"url":           {types: "String"},
	},
	"BotCommand": {
		"command":     {types: "String", required: true},
		"description": {types: "String", required: true},
	},
	"BotCommandScopeAllPrivateChats": {"type": {types: "String", required: true}},
}

func between(lo, hi int) func(string) error {
	return func(s string) error {
		if n, err := strconv.Atoi(s); err != nil || n < lo || n > hi {
			return fmt.Errorf("%q is not between %d and %d", s, lo, hi)
		}
		return nil
	}
}

// text counts what is left after the markup is parsed, the raw form being bounded too.
func text(lo, hi int) func(string) error {
	return func(s string) error {
		if !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return r < ' ' && r != '\n' }) {
			return errors.New("text with odd bytes")
		}
		if len(s) > maxRaw {
			return fmt.Errorf("%d bytes", len(s))
		}
		if plain, _, err := parseHTML(s); err == nil {
			s = plain
		}
		if n := utf8.RuneCountInString(strings.TrimSpace(s)); n < lo || n > hi {
			return fmt.Errorf("%d characters", n)
		}
		return nil
	}
}

func oneOf(words ...string) func(string) error {
	return func(s string) error {
		if !slices.Contains(words, s) {
			return fmt.Errorf("%q is none of %q", s, words)
		}
		return nil
	}
}

func form(re string) func(string) error {
	return func(s string) error {
		if !regexp.MustCompile(re).MatchString(s) {
			return fmt.Errorf("%q is not like %s", s, re)
		}
		return nil
	}
}

func photoMedia(s string) error {
	var m struct {
		Type    string
		Media   string
		Caption string
		Mode    string `json:"parse_mode"`
	}
	if err := json.Unmarshal([]byte(s), &m); err != nil {
		return err
	}
	if m.Type != "photo" || m.Media == "" || m.Mode != "" && m.Mode != "HTML" {
		return fmt.Errorf("%q is no photo", s)
	}
	return text(0, 1024)(m.Caption)
}

func updateKinds(s string) error {
	var kinds []string
	if err := json.Unmarshal([]byte(s), &kinds); err != nil || len(kinds) == 0 {
		return fmt.Errorf("%q is no list of kinds", s)
	}
	return nil
}

func commands(s string) error {
	var list []struct{ Command, Description string }
	if err := json.Unmarshal([]byte(s), &list); err != nil {
		return err
	}
	if len(list) > 100 {
		return errors.New("more than 100 commands")
	}
	for _, c := range list {
		if err := form("^[a-z0-9_]{1,32}$")(c.Command); err != nil {
			return err
		}
		if n := utf8.RuneCountInString(c.Description); n < 1 || n > 256 {
			return fmt.Errorf("a description of %d characters", n)
		}
	}
	return nil
}

// checkCall holds a request against the table: every parameter known, of its type and
// within its limits, and all required ones there. Files are given by name.
func checkCall(method string, params map[string]string, files []string) error {
	table, ok := methods[method]
	if !ok {
		return fmt.Errorf("%s is not in the table", method)
	}
	for _, f := range files {
		if method == "editMessageMedia" && f == "photo" {
			continue // attached, and named in the media
		}
		if p, ok := table[f]; !ok || !strings.Contains(p.types, "InputFile") {
			return fmt.Errorf("%s: %s is no file", method, f)
		}
	}
	for name, value := range params {
		p, ok := table[name]
		if !ok {
			return fmt.Errorf("%s: %s is not in the table", method, name)
		}
		if err := checkValue(p.types, value); err != nil {
			return fmt.Errorf("%s: %s: %w", method, name, err)
		}
		if p.check != nil {
			if err := p.check(value); err != nil {
				return fmt.Errorf("%s: %s: %w", method, name, err)
			}
		}
	}
	for name, p := range table {
		if p.required && params[name] == "" && !slices.Contains(files, name) {
			return fmt.Errorf("%s: %s is missing", method, name)
		}
	}
	return nil
}

// checkValue holds a form's value against its types.
func checkValue(types, value string) error {
	err := errors.New("no type")
	for typ := range strings.SplitSeq(types, "|") {
		switch typ {
		case "String", "InputMedia": // the latter has a check of its own
			return nil
		case "InputFile":
			err = errors.New("is to be uploaded")
			continue
		case "ReplyKeyboardMarkup", "ReplyKeyboardRemove", "ForceReply":
			continue // never sent by us
		case "BotCommandScope":
			typ = "BotCommandScopeAllPrivateChats"
		}
		dec := json.NewDecoder(strings.NewReader(value))
		dec.UseNumber()
		var v any
		if err = dec.Decode(&v); err == nil {
			err = checkJSON(typ, v)
		}
		if err == nil {
			return nil
		}
	}
	return err
}

func checkJSON(typ string, v any) error {
	if of, ok := strings.CutPrefix(typ, "Array of "); ok {
		list, ok := v.([]any)
		if !ok {
			return fmt.Errorf("%v is no list", v)
		}
		for _, v := range list {
			if err := checkJSON(of, v); err != nil {
				return err
			}
		}
		return nil
	}
	ok := false
	switch typ {
	case "String":
		_, ok = v.(string)
	case "Boolean":
		_, ok = v.(bool)
	case "Integer":
		var n json.Number
		if n, ok = v.(json.Number); ok {
			_, err := n.Int64()
			ok = err == nil
		}
	default:
		return checkObject(typ, v)
	}
	if !ok {
		return fmt.Errorf("%v is no %s", v, typ)
	}
	return nil
}

func checkObject(typ string, v any) error {
	fields, known := objects[typ]
	m, ok := v.(map[string]any)
	if !known || !ok {
		return fmt.Errorf("%v is no %s", v, typ)
	}
	for name, v := range m {
		f, ok := fields[name]
		if !ok {
			return fmt.Errorf("%s: %s is not in the table", typ, name)
		}
		if err := checkJSON(f.types, v); err != nil {
			return fmt.Errorf("%s: %s: %w", typ, name, err)
		}
	}
	for name, f := range fields {
		if _, ok := m[name]; f.required && !ok {
			return fmt.Errorf("%s: %s is missing", typ, name)
		}
	}
	switch typ {
	case "InlineKeyboardMarkup":
		n := 0
		for _, row := range m["inline_keyboard"].([]any) {
			k := len(row.([]any))
			if n += k; k == 0 || k > 8 {
				return fmt.Errorf("a row of %d buttons", k)
			}
		}
		if n > 100 {
			return fmt.Errorf("%d buttons", n)
		}
	case "InlineKeyboardButton":
		data, isData := m["callback_data"].(string)
		_, isURL := m["url"]
		if isData == isURL {
			return errors.New("a button does one thing")
		}
		if isData && (data == "" || len(data) > 64) {
			return fmt.Errorf("callback_data of %d bytes", len(data))
		}
		if m["text"] == "" {
			return errors.New("a button without a label")
		}
	}
	return nil
}

func TestCheckCall(t *testing.T) {
	tests := []struct {
		name   string
		method string
		params map[string]string
		ok     bool
	}{
		{"plain", "sendMessage", map[string]string{"chat_id": "1", "text": "a"}, true},
		{"unknown method", "sendMesage", nil, false},
		{"old name", "sendMessage", map[string]string{"chat_id": "1", "text": "a", "disable_web_page_preview": "true"}, false},
		{"no text", "sendMessage", map[string]string{"chat_id": "1"}, false},
		{"blank text", "sendMessage", map[string]string{"chat_id": "1", "text": " \n"}, false},
		{"4096 characters", "sendMessage", map[string]string{"chat_id": "1", "text": strings.Repeat("👐", 4096)}, true},
		{"4097 characters", "sendMessage", map[string]string{"chat_id": "1", "text": strings.Repeat("👐", 4097)}, false},
		{"no boolean", "sendMessage", map[string]string{"chat_id": "1", "text": "a", "protect_content": "yes"}, false},
		{"null list", "getUpdates", map[string]string{"allowed_updates": "null"}, false},
		{"null rows", "sendMessage", map[string]string{"chat_id": "1", "text": "a", "reply_markup": `{"inline_keyboard":null}`}, false},
		{"misspelt field", "sendMessage", map[string]string{"chat_id": "1", "text": "a", "reply_markup": `{"inline_keyboard":[[{"text":"a","calback_data":"b"}]]}`}, false},
		{"long data", "sendMessage", map[string]string{"chat_id": "1", "text": "a", "reply_markup": `{"inline_keyboard":[[{"text":"a","callback_data":"` + strings.Repeat("b", 65) + `"}]]}`}, false},
		{"a button", "sendMessage", map[string]string{"chat_id": "1", "text": "a", "reply_markup": `{"inline_keyboard":[[{"text":"a","callback_data":"b"}]]}`}, true},
		{"no photo", "sendPhoto", map[string]string{"chat_id": "1"}, false},
		{"capital command", "setMyCommands", map[string]string{"commands": `[{"command":"Start","description":"a"}]`}, false},
	}
	for _, tt := range tests {
		if err := checkCall(tt.method, tt.params, nil); (err == nil) != tt.ok {
			t.Errorf("%s: got %v", tt.name, err)
		}
	}
}

// TestMethodTable compares the table with a machine-readable copy of Bot API 10.1,
// which is data of the workplace and not part of the project.
func TestMethodTable(t *testing.T) {
	raw, err := os.ReadFile("../../../shared/botapi.json")
	if errors.Is(err, fs.ErrNotExist) {
		t.Skip("no copy of the Bot API's description lies beside the repository; the table stands unchecked")
	}
	if err != nil {
		t.Fatal(err)
	}
	type field struct {
		Name     string
		Types    []string
		Required bool
	}
	var api struct {
		Methods, Types map[string]struct{ Fields []field }
	}
	if err := json.Unmarshal(raw, &api); err != nil {
		t.Fatal(err)
	}
	compare := func(where string, ours map[string]param, theirs []field, known bool) {
		if !known {
			t.Errorf("%s is unknown to the API", where)
			return
		}
		for name, p := range ours {
			i := slices.IndexFunc(theirs, func(f field) bool { return f.Name == name })
			if i < 0 {
				t.Errorf("%s has no %s", where, name)
				continue
			}
			if got := strings.Join(theirs[i].Types, "|"); got != p.types || theirs[i].Required != p.required {
				t.Errorf("%s: %s is %s, required %v; the table says %s, %v", where, name, got, theirs[i].Required, p.types, p.required)
			}
		}
		for _, f := range theirs {
			if _, ok := ours[f.Name]; f.Required && !ok {
				t.Errorf("%s: the required %s is not in the table", where, f.Name)
			}
		}
	}
	for name, ours := range methods {
		m, known := api.Methods[name]
		compare(name, ours, m.Fields, known)
	}
	for name, ours := range objects {
		o, known := api.Types[name]
		compare(name, ours, o.Fields, known)
	}
}
