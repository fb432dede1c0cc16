package webhooks

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// The npm package standardwebhooks, another implementation by the
// specification's authors, verifies what we sign and signs what we verify.
const nodePackage = "standardwebhooks@1.1.1"

const nodeProgram = `
const { Webhook } = require("standardwebhooks");
const input = JSON.parse(require("fs").readFileSync(0, "utf8"));
const result = { verified: [], signed: [] };
for (const m of input) {
  try {
    new Webhook(m.secret).verify(m.body, m.headers);
    result.verified.push("");
  } catch (e) {
    result.verified.push(String(e.message));
  }
  result.signed.push(new Webhook(m.secret).sign(m.id, new Date(m.at * 1000), m.body));
}
process.stdout.write(JSON.stringify(result));
`

func TestAgainstTheNodePackage(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	missing := t.Skipf
	if os.Getenv("TAPELINE_READERS") == "required" {
		missing = t.Fatalf
	}
	for _, program := range []string{"node", "npm"} {
		if _, err := exec.LookPath(program); err != nil {
			missing("%s is not on this machine: %v", program, err)
		}
	}
	install := exec.Command("npm", "install", "--no-audit", "--no-fund", "--ignore-scripts", "--prefix", dir, nodePackage)
	if out, err := install.CombinedOutput(); err != nil {
		missing("npm install %s: %v\n%s", nodePackage, err, out)
	}

	type message struct {
		Secret  string            `json:"secret"`
		ID      string            `json:"id"`
		At      int64             `json:"at"`
		Body    string            `json:"body"`
		Headers map[string]string `json:"headers"`
		verdict string            // what is wrong with it, "" for nothing
	}
	current, former := NewSecret(), NewSecret()
	now := time.Now()
	make1 := func(body string, change func(*message)) message {
		h, err := Sign([]string{current, former}, "msg_1", now, []byte(body))
		if err != nil {
			t.Fatal(err)
		}
		m := message{Secret: current, ID: "msg_1", At: now.Unix(), Body: body, Headers: map[string]string{}}
		for _, name := range []string{"webhook-id", "webhook-timestamp", "webhook-signature"} {
			m.Headers[name] = h.Get(name)
		}
		if change != nil {
			change(&m)
		}
		return m
	}
	messages := []message{
		make1(`{"type":"order.ready"}`, nil),
		make1(`{"type":"order.ready"}`, func(m *message) { m.Secret = former }),
		make1(`{"naïve": "日本語 \u2028 🧵"}`, nil),
		make1(`{}`, func(m *message) { m.Secret, m.verdict = NewSecret(), "another secret" }),
		make1(`{}`, func(m *message) { m.Body, m.verdict = `{"a":1}`, "another body" }),
		make1(`{}`, func(m *message) { m.Headers["webhook-id"], m.verdict = "msg_2", "another id" }),
	}
	input, err := json.Marshal(messages)
	if err != nil {
		t.Fatal(err)
	}
	stdin := filepath.Join(dir, "input.json")
	if err := os.WriteFile(stdin, input, 0o600); err != nil {
		t.Fatal(err)
	}
	in, err := os.Open(stdin)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	node := exec.Command("node", "-e", nodeProgram)
	node.Dir, node.Stdin = dir, in
	out, err := node.Output()
	if err != nil {
		t.Fatalf("node: %v\n%s", err, out)
	}
	var result struct{ Verified, Signed []string }
	if err := json.Unmarshal(out, &result); err != nil || len(result.Verified) != len(messages) {
		t.Fatalf("node said %s: %v", out, err)
	}
	for i, m := range messages {
		if took := result.Verified[i] == ""; took != (m.verdict == "") {
			t.Errorf("message %d (%s): node says %q", i, m.verdict, result.Verified[i])
		}
		// And the other way round: what node signs, for the message as it now is.
		h, err := Sign([]string{m.Secret}, m.ID, now, []byte(m.Body))
		if err != nil {
			t.Fatal(err)
		}
		if ours := h.Get("webhook-signature"); ours != result.Signed[i] {
			t.Errorf("message %d: we sign %s, node signs %s", i, ours, result.Signed[i])
		}
		h.Set("webhook-signature", result.Signed[i])
		if err := Verify([]string{m.Secret}, h, []byte(m.Body), now); err != nil {
			t.Errorf("message %d: signed by node: %v", i, err)
		}
	}
}
