package bot

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"proveout/knowledge"
)

// ReadConfig reads a shop's configuration and checks it against what the shop knows:
// know gives that, with the folder the configuration names laid over it. channels are
// those there are adapters for. The error is a knowledge.Errors holding every mistake
// with its line and its mend; no secret is read and none may stand in the file.
func ReadConfig(path string, know func(own string) (*knowledge.Base, error), channels []string) (Config, error) {
	r := &configReader{}
	var err error
	r.Source, err = ReadSource(path, "configuration", "see the configuration in proveout serve --help for what may stand there", &r.config)
	if err != nil {
		return Config{}, err
	}
	base, err := know(r.config.Knowledge)
	if _, mistakes := errors.AsType[knowledge.Errors](err); mistakes || err != nil && r.config.Knowledge == "" {
		return Config{}, err
	}
	if err != nil {
		r.Fail("knowledge", err.Error(), "write the folder above faults/, equipment/ and the others, as it lies beside this file; or leave it out")
		return Config{}, r.Err()
	}
	r.check(base, channels)
	if err := r.Err(); err != nil {
		return Config{}, err
	}
	return r.config, nil
}

// configReader gathers the mistakes of a configuration.
type configReader struct {
	*Source
	config Config
}

func (r *configReader) check(base *knowledge.Base, channels []string) {
	c := &r.config
	if c.Shop == "" {
		r.Fail("shop", "the shop has no name", "write shop: and the name people read")
	}
	if _, err := c.Location(); err != nil {
		r.Fail("time-zone", err.Error(), "write a name such as America/Chicago")
	}
	if id := c.withDefaults().Equipment; base.Equipment[id] == nil {
		r.Fail("equipment", fmt.Sprintf("there is no kind of machine %q", id), "write the id of one under equipment/")
	}
	r.checkLanguage("language", c.Language, base, "leave it out for English")
	if len(c.Channels) == 0 {
		r.Fail("channels", "nobody could be heard: there is no channel", "write one of "+strings.Join(channels, ", "))
	}
	for _, name := range sortedKeys(c.Channels) {
		r.checkChannel("channels/"+name, name, c.Channels[name], channels)
	}
	r.numbers()
	r.checkPeople(base)
	r.checkPolicy(base)
	if c.Retention.Days < 0 {
		r.Fail("retention/days", "closed jobs cannot be kept for less than a day", "write the days, or 0 to keep them")
	}
	if _, err := time.Parse(time.DateOnly, c.Learning.Since); c.Learning.Since != "" && err != nil {
		r.Fail("learning/since", strconv.Quote(c.Learning.Since)+" is no day", "write it as 2026-07-01")
	}
	if l := c.withDefaults().Learning; l.Weight < 1 || l.Cap < 1 {
		r.Fail("learning", "weight and cap are at least 1", "leave them out for 200 and 4")
	}
}

func (r *configReader) checkChannel(at, name string, c Channel, channels []string) {
	if !slices.Contains(channels, name) {
		r.Fail(at, fmt.Sprintf("there is no channel %q", name), "write one of "+strings.Join(channels, ", "))
	}
	for _, secret := range sortedKeys(c.Secrets) {
		if s := c.Secrets[secret]; (s.Env == "") == (s.File == "") {
			r.Fail(at+"/secrets/"+secret, "a secret is kept in an environment variable or in a file", "write either env: or file:")
		}
	}
	for _, key := range sortedKeys(c.Settings) {
		if strings.Contains(key, "token") || strings.Contains(key, "secret") {
			r.Fail(at+"/settings/"+key, "a secret stands in the configuration", "move it under secrets:, as env: or file:")
		}
	}
	r.checkBridge(at, name, c)
}

// checkBridge checks where the jobs of a channel have their threads.
func (r *configReader) checkBridge(at, name string, c Channel) {
	to, set := c.Settings[bridged]
	switch other, there := r.config.Channels[to]; {
	case !set || to == unbridged:
	case to == name, !there:
		r.Fail(at+"/settings/"+bridged, fmt.Sprintf("%q is no other channel of the shop", to), "write one of those under channels:, or "+unbridged)
	case other.Conversation == "":
		r.Fail(at+"/settings/"+bridged, "the channel "+to+" has no room", "write its conversation: under channels/"+to)
	case c.Conversation != "":
		r.Fail(at+"/settings/"+bridged, "a channel with a room of its own has its threads there", "leave out bridge: or conversation:")
	}
}

// numbers writes everybody's phone number as E.164 has it.
func (r *configReader) numbers() {
	region := r.config.Channels[Texts].Settings["region"]
	for _, id := range sortedKeys(r.config.People) {
		p := r.config.People[id]
		if p == nil || p.Identities[Texts] == "" {
			continue
		}
		number, err := E164(p.Identities[Texts], region)
		if err != nil {
			r.Fail("people/"+id+"/identities/"+Texts, err.Error(), "write it as \"+1 303 555 0123\", or set channels/"+Texts+"/settings/region to a country such as US")
			continue
		}
		p.Identities[Texts] = number
	}
}

func (r *configReader) checkLanguage(at, language string, base *knowledge.Base, otherwise string) {
	if spoken := append([]string{"en"}, base.Languages()...); language != "" && !slices.Contains(spoken, language) {
		r.Fail(at, fmt.Sprintf("nobody is answered in %q yet", language), "write one of "+strings.Join(spoken, ", ")+", or "+otherwise)
	}
}

func (r *configReader) checkPeople(base *knowledge.Base) {
	c := &r.config
	if len(c.People) == 0 {
		r.Fail("people", "nobody works here", "write at least one technician")
	}
	roles := []Role{TechnicianRole, SeniorRole, DispatcherRole, OwnerRole}
	tools := instruments(base)
	whose := map[Key]string{}
	for _, id := range sortedKeys(c.People) {
		at, p := "people/"+id, c.People[id]
		if p == nil {
			r.Fail(at, "nothing is said of this person", "write name:, role: and identities:")
			continue
		}
		if !slices.Contains(roles, p.Role) {
			r.Fail(at+"/role", fmt.Sprintf("there is no role %q", p.Role), "write technician, senior, dispatcher or owner")
		}
		r.checkLanguage(at+"/language", p.Language, base, "leave it out: then he is answered in the one he writes in")
		if len(p.Identities) == 0 {
			r.Fail(at, "this person has no identity in any channel", "write identities: and under it the channel and the user id")
		}
		for _, channel := range sortedKeys(p.Identities) {
			k := Key{channel, p.Identities[channel]}
			_, web := c.Channels[Web]
			switch _, there := c.Channels[channel]; {
			case !there && !(channel == OIDC && web): // which is no channel, but how he comes in
				r.Fail(at+"/identities/"+channel, fmt.Sprintf("the shop has no channel %q", channel), "add it under channels:")
			case k.ID == "":
				r.Fail(at+"/identities/"+channel, "the identity is empty", "write the user id or the number")
			case whose[k] != "":
				r.Fail(at+"/identities/"+channel, "this is "+whose[k]+" too", "give each person his own identity")
			}
			whose[k] = id
		}
		for _, tool := range p.Instruments {
			if !contains(tools, tool) {
				r.Fail(at+"/instruments", fmt.Sprintf("no reading is taken with %q", tool), "write some of: "+strings.Join(tools, ", "))
			}
		}
	}
}

func (r *configReader) checkPolicy(base *knowledge.Base) {
	p := &r.config.Policy
	for _, id := range p.Confirm.Faults {
		if base.Faults[id] == nil {
			r.Fail("policy/confirm/faults", fmt.Sprintf("there is no fault %q", id), "write the id of one under faults/")
		}
	}
	seniors := 0
	for _, person := range r.config.People {
		if person != nil && person.Role == SeniorRole {
			seniors++
		}
	}
	if seniors == 0 && len(r.config.People) > 0 {
		r.Fail("people", "nobody could confirm a call: there is no senior", "give one person the role senior")
	}
	if from, to, err := p.QuietHours.span(); err != nil {
		r.Fail("policy/quiet-hours", err.Error(), "write from: \"21:00\" and to: \"06:00\"")
	} else if from == to && p.QuietHours != (QuietHours{}) {
		r.Fail("policy/quiet-hours", "they begin when they end", "write from: \"21:00\" and to: \"06:00\", or leave them out")
	}
	if id := p.Alarms.OnCall; id != "" && (r.config.People[id] == nil || r.config.People[id].Role != SeniorRole) {
		r.Fail("policy/alarms/on-call", strconv.Quote(id)+" is no senior of the shop", "write the id of one under people:")
	}
}
