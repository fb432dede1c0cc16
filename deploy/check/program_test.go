package check

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"maps"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	appsv1 "k8s.io/api/apps/v1"
	batchv1 "k8s.io/api/batch/v1"
	corev1 "k8s.io/api/core/v1"
)

// program builds tapeline like the Dockerfile does.
func program(t *testing.T) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "tapeline")
	build := exec.Command("go", "build", "-buildvcs=true", "-trimpath", "-ldflags=-s -w", "-o", file, "./cmd/tapeline")
	build.Dir = "../.."
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return file
}

// TestProgramTakesWhatIsDeployed runs the program with the arguments and settings of
// the manifests, except addresses, and sends the requests of the probes.
func TestProgramTakesWhatIsDeployed(t *testing.T) {
	all := objects(t)
	deployment := only[*appsv1.Deployment](t, all, "deployment.yaml")
	job := only[*batchv1.Job](t, all, "migrate.yaml")
	config := only[*corev1.ConfigMap](t, all, "configmap.yaml")
	file := program(t)

	if b, err := os.ReadFile(file); err != nil || bytes.Contains(b, []byte("ld-linux")) {
		t.Errorf("the program asks for a dynamic loader, which an empty image does not have (%v)", err)
	}

	// Every setting by a name that the program reads.
	help, _ := exec.Command(file, "serve", "-h").CombinedOutput()
	known := regexp.MustCompile(`\b(TAPELINE_[A-Z_]+|DATABASE_URL)\b`).FindAllString(string(help), -1)
	known = append(known, "GOMEMLIMIT") // of the Go runtime
	names := slices.Collect(maps.Keys(config.Data))
	for _, c := range append(deployment.Spec.Template.Spec.Containers, job.Spec.Template.Spec.Containers...) {
		for _, e := range c.Env {
			names = append(names, e.Name)
		}
	}
	for name := range composeProject(t).Services["tapeline"].Environment {
		names = append(names, name)
	}
	dockerfile, err := os.ReadFile("../../Dockerfile")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`(?m)^ENV (\w+)=`).FindAllSubmatch(dockerfile, -1) {
		names = append(names, string(m[1]))
	}
	for _, name := range names {
		if !slices.Contains(known, name) {
			t.Errorf("the program does not know the setting %s", name)
		}
	}

	data, err := os.MkdirTemp("", "tapeline-deploy-")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(data)
	if err := os.Chmod(data, 0o711); err != nil {
		t.Fatal(err)
	}
	env := append(os.Environ(), "TAPELINE_DATA="+data, "DATABASE_URL=")
	for name, value := range config.Data {
		switch name {
		case "TAPELINE_ADDR", "TAPELINE_METRICS_ADDR":
			value = "127.0.0.1:0"
		case "TAPELINE_DRAIN":
			value = "1s" // a load balancer needs longer
		}
		env = append(env, name+"="+value)
	}
	migrate := exec.Command(file, job.Spec.Template.Spec.Containers[0].Args...)
	migrate.Env = env
	if out, err := migrate.CombinedOutput(); err != nil || !strings.Contains(string(out), "up to date") {
		t.Fatalf("migrate: %v\n%s", err, out)
	}

	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	serve := exec.CommandContext(ctx, file, deployment.Spec.Template.Spec.Containers[0].Args...)
	serve.Env = env
	var log bytes.Buffer
	serve.Stderr = &log
	stdout, err := serve.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := serve.Start(); err != nil {
		t.Fatal(err)
	}
	line, err := bufio.NewReader(stdout).ReadString('\n')
	address := regexp.MustCompile(`http://[0-9.:]+`).FindString(line)
	if address == "" {
		cancel()
		_ = serve.Wait()
		t.Fatalf("serve said %q (%v)\n%s", line, err, &log)
	}
	ask := func(path string) (int, string) {
		resp, err := http.Get(address + path)
		if err != nil {
			return 0, err.Error()
		}
		defer resp.Body.Close()
		b, _ := io.ReadAll(resp.Body)
		return resp.StatusCode, string(b)
	}
	c := deployment.Spec.Template.Spec.Containers[0]
	for _, probe := range []*corev1.Probe{c.StartupProbe, c.LivenessProbe, c.ReadinessProbe} {
		if status, body := ask(probe.HTTPGet.Path); status != 200 {
			t.Errorf("%s answers %d %s", probe.HTTPGet.Path, status, body)
		}
	}
	if status, _ := ask("/metrics"); status != 404 {
		t.Errorf("/metrics is shown with the API: %d", status)
	}

	// As Kubernetes stops a pod: after a signal it serves without being ready, then exits.
	if err := serve.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	refused := false
	for range 40 {
		if status, _ := ask(c.ReadinessProbe.HTTPGet.Path); status == 503 {
			refused = true
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if !refused {
		t.Error("readiness did not say no while it drains")
	}
	if status, body := ask(c.LivenessProbe.HTTPGet.Path); status != 200 {
		t.Errorf("liveness while it drains: %d %s", status, body)
	}
	if err := serve.Wait(); err != nil {
		t.Errorf("it ended with %v\n%s", err, &log)
	}
	if strings.Contains(log.String(), `"level":"ERROR"`) {
		t.Errorf("its log holds errors:\n%s", fmt.Sprint(&log))
	}
}
