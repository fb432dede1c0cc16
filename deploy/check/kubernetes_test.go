package check

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"code.dny.dev/ssrf"
	monitoringv1 "github.com/prometheus-operator/prometheus-operator/pkg/apis/monitoring/v1"
	appsv1 "k8s.io/api/apps/v1"
	batchv1 "k8s.io/api/batch/v1"
	corev1 "k8s.io/api/core/v1"
	networkingv1 "k8s.io/api/networking/v1"
	policyv1 "k8s.io/api/policy/v1"
	"k8s.io/apimachinery/pkg/runtime"
	"k8s.io/apimachinery/pkg/runtime/serializer"
	"k8s.io/apimachinery/pkg/util/yaml"
)

// objects decodes every manifest like the API server with fieldValidation=Strict:
// unknown and repeated fields are errors.
func objects(t *testing.T) map[string][]runtime.Object {
	t.Helper()
	scheme := runtime.NewScheme()
	for _, add := range []func(*runtime.Scheme) error{
		corev1.AddToScheme, appsv1.AddToScheme, batchv1.AddToScheme, networkingv1.AddToScheme, policyv1.AddToScheme,
		monitoringv1.AddToScheme,
	} {
		if err := add(scheme); err != nil {
			t.Fatal(err)
		}
	}
	decoder := serializer.NewCodecFactory(scheme, serializer.EnableStrict).UniversalDeserializer()
	files, err := filepath.Glob("../kubernetes/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no manifests: %v", err)
	}
	files = append(files, "../kubernetes/monitoring/podmonitor.yaml")
	all := map[string][]runtime.Object{}
	for _, file := range files {
		if filepath.Base(file) == "kustomization.yaml" {
			continue
		}
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		documents := yaml.NewYAMLReader(bufio.NewReader(bytes.NewReader(b)))
		for {
			document, err := documents.Read()
			if errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", file, err)
			}
			object, _, err := decoder.Decode(document, nil, nil)
			if err != nil {
				t.Errorf("%s: %v", file, err)
				continue
			}
			all[filepath.Base(file)] = append(all[filepath.Base(file)], object)
		}
	}
	return all
}

func only[T runtime.Object](t *testing.T, all map[string][]runtime.Object, file string) T {
	t.Helper()
	var found T
	n := 0
	for _, o := range all[file] {
		if v, ok := o.(T); ok {
			found, n = v, n+1
		}
	}
	if n != 1 {
		t.Fatalf("%s holds %d of %T, want 1", file, n, found)
	}
	return found
}

func TestManifestsAreSound(t *testing.T) {
	all := objects(t)
	deployment := only[*appsv1.Deployment](t, all, "deployment.yaml")
	job := only[*batchv1.Job](t, all, "migrate.yaml")
	service := only[*corev1.Service](t, all, "service.yaml")
	budget := only[*policyv1.PodDisruptionBudget](t, all, "disruption.yaml")
	config := only[*corev1.ConfigMap](t, all, "configmap.yaml")

	pod := deployment.Spec.Template
	for name, selector := range map[string]map[string]string{
		"deployment": deployment.Spec.Selector.MatchLabels, "service": service.Spec.Selector,
		"budget": budget.Spec.Selector.MatchLabels,
	} {
		if !chooses(selector, pod.Labels) {
			t.Errorf("%s selects %v, the pods are %v", name, selector, pod.Labels)
		}
		if chooses(selector, job.Spec.Template.Labels) {
			t.Errorf("%s selects the migration's pods too", name)
		}
	}
	if *deployment.Spec.Replicas < 2 {
		t.Errorf("%d replicas", *deployment.Spec.Replicas)
	}
	backup := only[*batchv1.CronJob](t, all, "backup.yaml").Spec.JobTemplate.Spec.Template
	monitor := only[*monitoringv1.PodMonitor](t, all, "podmonitor.yaml")
	if !chooses(monitor.Spec.Selector.MatchLabels, pod.Labels) || pod.Labels[monitor.Spec.JobLabel] != "tapeline" {
		t.Errorf("the monitor %+v does not scrape the pods as job tapeline", monitor.Spec)
	}
	backend := only[*networkingv1.Ingress](t, all, "ingress.yaml").Spec.Rules[0].HTTP.Paths[0].Backend.Service
	if backend.Name != service.Name || backend.Port.Name != service.Spec.Ports[0].Name {
		t.Errorf("the ingress leads to %+v", backend)
	}
	for name, spec := range map[string]corev1.PodSpec{"deployment": pod.Spec, "migration": job.Spec.Template.Spec,
		"backup": backup.Spec} {
		restricted(t, name, spec)
	}
	ports := map[string]int32{}
	for _, p := range pod.Spec.Containers[0].Ports {
		ports[p.Name] = p.ContainerPort
	}
	for _, p := range service.Spec.Ports {
		if ports[p.TargetPort.StrVal] == 0 {
			t.Errorf("the service leads to port %q, which no container has", p.TargetPort.StrVal)
		}
	}
	c := pod.Spec.Containers[0]
	for name, probe := range map[string]*corev1.Probe{"startup": c.StartupProbe, "liveness": c.LivenessProbe,
		"readiness": c.ReadinessProbe} {
		if probe == nil || probe.HTTPGet == nil || ports[probe.HTTPGet.Port.StrVal] == 0 {
			t.Errorf("%s probe: %+v", name, probe)
		}
	}
	if c.LivenessProbe.HTTPGet.Path == c.ReadinessProbe.HTTPGet.Path {
		t.Error("a database that does not answer would have the replicas restarted")
	}
	// The program must exit before it is killed.
	drain, errD := time.ParseDuration(config.Data["TAPELINE_DRAIN"])
	grace, errG := time.ParseDuration(config.Data["TAPELINE_GRACE"])
	if left := time.Duration(*pod.Spec.TerminationGracePeriodSeconds)*time.Second - drain - grace; errD != nil ||
		errG != nil || left < 10*time.Second {
		t.Errorf("%v are left between drain, grace and the kill", left)
	}
	if job.Spec.Template.Spec.Containers[0].Image != c.Image {
		t.Errorf("migration of %s, deployment of %s", job.Spec.Template.Spec.Containers[0].Image, c.Image)
	}
}

func chooses(selector, labels map[string]string) bool {
	for k, v := range selector {
		if labels[k] != v {
			return false
		}
	}
	return len(selector) > 0
}

// restricted is the 'restricted' pod security standard, which the namespace enforces,
// with some further rules.
func restricted(t *testing.T, name string, spec corev1.PodSpec) {
	t.Helper()
	p := spec.SecurityContext
	if p == nil || p.RunAsNonRoot == nil || !*p.RunAsNonRoot || p.RunAsUser == nil || *p.RunAsUser == 0 ||
		p.SeccompProfile == nil || p.SeccompProfile.Type != corev1.SeccompProfileTypeRuntimeDefault {
		t.Errorf("%s: pod security context %+v", name, p)
	}
	if spec.AutomountServiceAccountToken == nil || *spec.AutomountServiceAccountToken {
		t.Errorf("%s: is given a token for the cluster", name)
	}
	if spec.HostNetwork || spec.HostPID || spec.HostIPC || slices.ContainsFunc(spec.Volumes, func(v corev1.Volume) bool {
		return v.PersistentVolumeClaim == nil
	}) {
		t.Errorf("%s: host namespaces, or volumes other than claims", name)
	}
	for _, c := range spec.Containers {
		s := c.SecurityContext
		if s == nil || s.AllowPrivilegeEscalation == nil || *s.AllowPrivilegeEscalation ||
			s.ReadOnlyRootFilesystem == nil || !*s.ReadOnlyRootFilesystem ||
			s.Capabilities == nil || !slices.Contains(s.Capabilities.Drop, "ALL") || len(s.Capabilities.Add) > 0 {
			t.Errorf("%s/%s: security context %+v", name, c.Name, s)
		}
		if c.Resources.Limits.Memory().IsZero() || c.Resources.Requests.Memory().IsZero() ||
			c.Resources.Requests.Cpu().IsZero() {
			t.Errorf("%s/%s: resources %+v", name, c.Name, c.Resources)
		}
		for _, e := range c.Env {
			if secret := strings.Contains(e.Name, "SECRET") || e.Name == "DATABASE_URL"; secret && (e.Value != "" ||
				e.ValueFrom.SecretKeyRef == nil) {
				t.Errorf("%s/%s: %s is not taken from a secret", name, c.Name, e.Name)
			}
		}
	}
}

// The network policy denies the blocks that the webhook client refuses.
func TestNetworkPolicyLeavesOutWhatWebhooksRefuse(t *testing.T) {
	refused := []string{"168.63.129.16/32"}
	for _, p := range slices.Concat(ssrf.IPv4DeniedPrefixes, ssrf.IPv6DeniedPrefixes) {
		refused = append(refused, p.String())
	}
	var left []string
	for _, o := range objects(t)["networkpolicy.yaml"] {
		for _, rule := range o.(*networkingv1.NetworkPolicy).Spec.Egress {
			for _, to := range rule.To {
				if to.IPBlock != nil {
					left = append(left, to.IPBlock.Except...)
				}
			}
		}
	}
	slices.Sort(refused)
	slices.Sort(left)
	if !slices.Equal(refused, left) {
		t.Errorf("the policy leaves out\n%v\nwebhooks refuse\n%v", left, refused)
	}
}
