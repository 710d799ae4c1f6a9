package sms

import "time"

// Gateway is how one gateway is spoken with: a YAML file, of which deploy/sms holds two.
// Where a key wants a secret it takes its name; the secrets themselves are handed in.
type Gateway struct {
	// Name is what people call it.
	Name string `yaml:"name"`
	// Receive takes texts.
	Receive Hook `yaml:"receive"`
	// Receipt takes delivery receipts; nil where there are none.
	Receipt *Hook `yaml:"receipt"`
	Send    Send  `yaml:"send"`
	// Words are those a carrier wants obeyed; empty lists are the usual ones.
	Words Words `yaml:"words"`
}

// The forms in which fields come in or go out.
const (
	JSON  = "json"
	Form  = "form"  // application/x-www-form-urlencoded
	Query = "query" // in the address, with no body
	Text  = "text"  // the text alone is the body, all else is in headers
)

// Hook is a request the gateway makes of us.
type Hook struct {
	// Path it comes to, such as /sms.
	Path string `yaml:"path"`
	// Method is POST, or GET with the fields in the query.
	Method string `yaml:"method"`
	// Body is json, form or query.
	Body string `yaml:"body"`
	// Largest is the most bytes a body may have (65536).
	Largest int64 `yaml:"largest"`
	// Each names the list in a JSON body that holds several; empty: it holds one.
	Each string `yaml:"each"`
	// Fields names the fields: of a text sender, recipient, text, id, time, and of a long
	// one that comes in parts reference, part, parts; of a receipt id, status, reason. In
	// JSON a name is a path: message.from, numbers.0.
	Fields map[string]string `yaml:"fields"`
	// TimeFormat is unix, unix-ms, rfc3339, or the moment 2006-01-02 15:04:05 as the
	// gateway would write it; a time without a zone is UTC.
	TimeFormat string `yaml:"time-format"`
	// International: numbers come without the + that says so.
	International bool `yaml:"international"`
	// Delivered, Failed and Pending are the statuses of receipts by what they mean.
	Delivered []string `yaml:"delivered"`
	Failed    []string `yaml:"failed"`
	Pending   []string `yaml:"pending"`

	Auth Auth `yaml:"auth"`
	// Allow lists the addresses and networks it may come from; empty: any.
	Allow []string `yaml:"allow"`
	// Answer is what says that it was taken.
	Answer Answer `yaml:"answer"`
}

// Answer says that a request was taken.
type Answer struct {
	// Status is 200 unless said otherwise.
	Status int `yaml:"status"`
	// Type and Text are its content; empty: none.
	Type string `yaml:"type"`
	Text string `yaml:"text"`
}

// Auth is how a request shows who made it; exactly one of them for what comes in.
type Auth struct {
	Signature *Signature `yaml:"signature"`
	Basic     *Basic     `yaml:"basic"`
	Bearer    *Bearer    `yaml:"bearer"`
}

// Signature is an HMAC-SHA-256 in a header.
type Signature struct {
	Header string `yaml:"header"`
	// Prefix stands before it, such as sha256=.
	Prefix string `yaml:"prefix"`
	// Encoding is hex or base64.
	Encoding string `yaml:"encoding"`
	// Secret names the key.
	Secret string `yaml:"secret"`
	// Timestamp is the header with the second it was signed at.
	Timestamp string `yaml:"timestamp"`
	// Window is how far that may lie from now (5m).
	Window time.Duration `yaml:"window"`
	// Over is what is signed, {timestamp} and {body} in it ({timestamp}.{body}).
	Over string `yaml:"over"`
}

// Basic is a user and the name of the password.
type Basic struct {
	User     string `yaml:"user"`
	Password string `yaml:"password"`
}

// Bearer is the name of a token.
type Bearer struct {
	Token string `yaml:"token"`
}

// Send is the request that sends a text. In its values {to}, {from}, {text}, {id} (the
// same when it is sent again), {to-digits} and {from-digits} (without +) and
// {secret:NAME} are filled in.
type Send struct {
	URL string `yaml:"url"`
	// Method is POST, or GET with the fields in the query.
	Method string `yaml:"method"`
	// Body is json, form, query or text.
	Body    string            `yaml:"body"`
	Fields  map[string]any    `yaml:"fields"`
	Headers map[string]string `yaml:"headers"`
	// Unicode is added where a text cannot be written in the default alphabet.
	Unicode Added `yaml:"unicode"`
	Auth    Auth  `yaml:"auth"`
	// MostParts is the parts the gateway takes in one request (10); what is longer goes
	// out in several.
	MostParts int      `yaml:"most-parts"`
	Answer    Answered `yaml:"answer"`
}

// Added are fields and headers added to a request.
type Added struct {
	Fields  map[string]any    `yaml:"fields"`
	Headers map[string]string `yaml:"headers"`
}

// Answered is how the answer to a text sent is read. Names are paths in JSON. A status
// of 408, 425, 429 or from 500 on is tried again, any other that is no success is not.
type Answered struct {
	// ID is the gateway's name of the message, by which receipts call it; empty: they
	// call it by {id}.
	ID string `yaml:"id"`
	// Error is where an error's code stands in an answer; OK are the codes that mean
	// there is none, Again those that may pass.
	Error string   `yaml:"error"`
	OK    []string `yaml:"ok"`
	Again []string `yaml:"again"`
}

// Words are those a person may send alone to be left in peace, to be written to again,
// and to be told who writes.
type Words struct {
	Stop  []string `yaml:"stop"`
	Start []string `yaml:"start"`
	Help  []string `yaml:"help"`
}
