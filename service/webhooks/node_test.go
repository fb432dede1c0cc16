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

// nodeMessage is a message for the program to verify and to sign.
type nodeMessage struct {
	Secret  string            `json:"secret"`
	ID      string            `json:"id"`
	At      int64             `json:"at"`
	Body    string            `json:"body"`
	Headers map[string]string `json:"headers"`
	fault   string            // "" for none
}

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

	current, former := NewSecret(), NewSecret()
	now := time.Now()
	signed := func(body string, change func(*nodeMessage)) nodeMessage {
		h, err := Sign([]string{current, former}, "msg_1", now, []byte(body))
		if err != nil {
			t.Fatal(err)
		}
		m := nodeMessage{Secret: current, ID: "msg_1", At: now.Unix(), Body: body, Headers: map[string]string{}}
		for _, name := range []string{"webhook-id", "webhook-timestamp", "webhook-signature"} {
			m.Headers[name] = h.Get(name)
		}
		if change != nil {
			change(&m)
		}
		return m
	}
	messages := []nodeMessage{
		signed(`{"type":"order.ready"}`, nil),
		signed(`{"type":"order.ready"}`, func(m *nodeMessage) { m.Secret = former }),
		signed(`{"naïve": "日本語 \u2028 🧵"}`, nil),
		signed(`{}`, func(m *nodeMessage) { m.Secret, m.fault = NewSecret(), "another secret" }),
		signed(`{}`, func(m *nodeMessage) { m.Body, m.fault = `{"a":1}`, "another body" }),
		signed(`{}`, func(m *nodeMessage) { m.Headers["webhook-id"], m.fault = "msg_2", "another id" }),
	}
	result := runNode(t, dir, messages)
	for i, m := range messages {
		if took := result.Verified[i] == ""; took != (m.fault == "") {
			t.Errorf("message %d (%s): node says %q", i, m.fault, result.Verified[i])
		}
		// The reverse: we verify the signature of node for the message as it now is.
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

// nodeResult is a reason for each message that does not verify, "" for one that
// does, and a signature for each.
type nodeResult struct{ Verified, Signed []string }

func runNode(t *testing.T, dir string, messages []nodeMessage) nodeResult {
	t.Helper()
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
	var result nodeResult
	if err := json.Unmarshal(out, &result); err != nil || len(result.Verified) != len(messages) {
		t.Fatalf("node answers %s: %v", out, err)
	}
	return result
}
