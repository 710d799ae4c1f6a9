package bot

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"proveout/knowledge"
)

// ReadConfig reads a shop's configuration and checks it against knowledge. channels are
// those there are adapters for. The error is a knowledge.Errors holding every mistake
// with its line and its mend; no secret is read and none may stand in the file.
func ReadConfig(path string, base *knowledge.Base, channels []string) (Config, error) {
	src, err := os.ReadFile(path)
	if err != nil {
		return Config{}, fmt.Errorf("reading the configuration: %w", err)
	}
	r := &configReader{path: path}
	file, err := parser.ParseBytes(src, 0)
	if err != nil {
		return Config{}, r.unreadable(err)
	}
	if len(file.Docs) != 1 || file.Docs[0].Body == nil {
		r.fail("", "the file holds no configuration, or more than one", "write shop:, people: and channels: once")
		return Config{}, r.errs
	}
	r.root = file.Docs[0].Body
	if err := yaml.NodeToValue(r.root, &r.config, yaml.Strict()); err != nil {
		return Config{}, r.unreadable(err)
	}
	r.check(base, channels)
	if len(r.errs) > 0 {
		slices.SortStableFunc(r.errs, func(a, b *knowledge.Error) int { return a.Line - b.Line })
		return Config{}, r.errs
	}
	return r.config, nil
}

// configReader gathers the mistakes of a configuration.
type configReader struct {
	path   string
	root   ast.Node
	config Config
	errs   knowledge.Errors
}

func (r *configReader) unreadable(err error) error {
	e := &knowledge.Error{File: r.path, Line: 1, Column: 1, What: err.Error(), Mend: "see the configuration in the README for what may stand there"}
	if placed, ok := errors.AsType[yaml.Error](err); ok {
		e.What = placed.GetMessage()
		if t := placed.GetToken(); t != nil && t.Position != nil {
			e.Line, e.Column = t.Position.Line, t.Position.Column
		}
	}
	return knowledge.Errors{e}
}

// fail notes a mistake at keys joined by slashes: where the deepest of them stands.
func (r *configReader) fail(at, what, mend string) {
	e := &knowledge.Error{File: r.path, Line: 1, Column: 1, ID: at, What: what, Mend: mend}
	node := r.root
	for key := range strings.SplitSeq(at, "/") {
		item := entryOf(node, key)
		if item == nil {
			break
		}
		if p := item.Key.GetToken().Position; p != nil {
			e.Line, e.Column = p.Line, p.Column
		}
		node = item.Value
	}
	r.errs = append(r.errs, e)
}

// entryOf finds a key in a mapping, or nil.
func entryOf(n ast.Node, key string) *ast.MappingValueNode {
	var items []*ast.MappingValueNode
	switch n := n.(type) {
	case *ast.MappingNode:
		items = n.Values
	case *ast.MappingValueNode:
		items = []*ast.MappingValueNode{n}
	}
	for _, item := range items {
		var name string
		if yaml.NodeToValue(item.Key, &name) == nil && name == key {
			return item
		}
	}
	return nil
}

func (r *configReader) check(base *knowledge.Base, channels []string) {
	c := &r.config
	if c.Shop == "" {
		r.fail("shop", "the shop has no name", "write shop: and the name people read")
	}
	if _, err := c.Location(); err != nil {
		r.fail("time-zone", err.Error(), "write a name such as America/Chicago")
	}
	if id := c.withDefaults().Equipment; base.Equipment[id] == nil {
		r.fail("equipment", fmt.Sprintf("there is no kind of machine %q", id), "write the id of one under equipment/")
	}
	if len(c.Channels) == 0 {
		r.fail("channels", "nobody could be heard: there is no channel", "write one of "+strings.Join(channels, ", "))
	}
	for _, name := range sortedKeys(c.Channels) {
		r.checkChannel("channels/"+name, name, c.Channels[name], channels)
	}
	r.checkPeople(base)
	r.checkPolicy(base)
	if c.Retention.Days < 0 {
		r.fail("retention/days", "closed jobs cannot be kept for less than a day", "write the days, or 0 to keep them")
	}
	if _, err := time.Parse(time.DateOnly, c.Learning.Since); c.Learning.Since != "" && err != nil {
		r.fail("learning/since", strconv.Quote(c.Learning.Since)+" is no day", "write it as 2026-07-01")
	}
	if l := c.withDefaults().Learning; l.Weight < 1 || l.Cap < 1 {
		r.fail("learning", "weight and cap are at least 1", "leave them out for 200 and 4")
	}
}

func (r *configReader) checkChannel(at, name string, c Channel, channels []string) {
	if !slices.Contains(channels, name) {
		r.fail(at, fmt.Sprintf("there is no channel %q", name), "write one of "+strings.Join(channels, ", "))
	}
	for _, secret := range sortedKeys(c.Secrets) {
		if s := c.Secrets[secret]; (s.Env == "") == (s.File == "") {
			r.fail(at+"/secrets/"+secret, "a secret is kept in an environment variable or in a file", "write either env: or file:")
		}
	}
	for _, key := range sortedKeys(c.Settings) {
		if strings.Contains(key, "token") || strings.Contains(key, "secret") {
			r.fail(at+"/settings/"+key, "a secret stands in the configuration", "move it under secrets:, as env: or file:")
		}
	}
}

func (r *configReader) checkPeople(base *knowledge.Base) {
	c := &r.config
	if len(c.People) == 0 {
		r.fail("people", "nobody works here", "write at least one technician")
	}
	roles := []Role{TechnicianRole, SeniorRole, DispatcherRole, OwnerRole}
	tools := instruments(base)
	whose := map[Key]string{}
	for _, id := range sortedKeys(c.People) {
		at, p := "people/"+id, c.People[id]
		if p == nil {
			r.fail(at, "nothing is said of this person", "write name:, role: and identities:")
			continue
		}
		if !slices.Contains(roles, p.Role) {
			r.fail(at+"/role", fmt.Sprintf("there is no role %q", p.Role), "write technician, senior, dispatcher or owner")
		}
		if spoken := append([]string{"en"}, base.Languages()...); p.Language != "" && !slices.Contains(spoken, p.Language) {
			r.fail(at+"/language", fmt.Sprintf("nobody is answered in %q yet", p.Language), "write one of "+strings.Join(spoken, ", ")+", or leave it out: then he is answered in the one he writes in")
		}
		if len(p.Identities) == 0 {
			r.fail(at, "this person has no identity in any channel", "write identities: and under it the channel and the user id")
		}
		for _, channel := range sortedKeys(p.Identities) {
			k := Key{channel, p.Identities[channel]}
			switch _, there := c.Channels[channel]; {
			case !there:
				r.fail(at+"/identities/"+channel, fmt.Sprintf("the shop has no channel %q", channel), "add it under channels:")
			case k.ID == "":
				r.fail(at+"/identities/"+channel, "the identity is empty", "write the user id or the number")
			case whose[k] != "":
				r.fail(at+"/identities/"+channel, "this is "+whose[k]+" too", "give each person his own identity")
			}
			whose[k] = id
		}
		for _, tool := range p.Instruments {
			if !contains(tools, tool) {
				r.fail(at+"/instruments", fmt.Sprintf("no reading is taken with %q", tool), "write some of: "+strings.Join(tools, ", "))
			}
		}
	}
}

func (r *configReader) checkPolicy(base *knowledge.Base) {
	p := &r.config.Policy
	for _, id := range p.Confirm.Faults {
		if base.Faults[id] == nil {
			r.fail("policy/confirm/faults", fmt.Sprintf("there is no fault %q", id), "write the id of one under faults/")
		}
	}
	seniors := 0
	for _, person := range r.config.People {
		if person != nil && person.Role == SeniorRole {
			seniors++
		}
	}
	if seniors == 0 && len(r.config.People) > 0 {
		r.fail("people", "nobody could confirm a call: there is no senior", "give one person the role senior")
	}
	if id := p.Alarms.OnCall; id != "" && (r.config.People[id] == nil || r.config.People[id].Role != SeniorRole) {
		r.fail("policy/alarms/on-call", strconv.Quote(id)+" is no senior of the shop", "write the id of one under people:")
	}
}
