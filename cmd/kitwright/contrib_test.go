package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
	"kitwright/internal/checker"
)

// program builds the program that the files of contrib start.
func program(t testing.TB) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "kitwright")
	cmd := exec.Command("go", "build", "-o", path, ".")
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0")
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	return path
}

// shopOrders makes a table of small orders with their photos.
func shopOrders(t *testing.T, dir string, n int) string {
	t.Helper()
	var table strings.Builder
	table.WriteString("photo,name,grid,colors,title\n")
	for i := range n {
		m := image.NewNRGBA(image.Rect(0, 0, 80, 80))
		for y := range 80 {
			for x := range 80 {
				m.SetNRGBA(x, y, color.NRGBA{uint8(3 * x), uint8(3 * y), uint8(6 * i), 255})
			}
		}
		var b bytes.Buffer
		require.NoError(t, png.Encode(&b, m))
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("cat%d.png", i)), b.Bytes(), 0o666))
		fmt.Fprintf(&table, "cat%d.png,order %02d,30x30,%d,No. %d\n", i, i, 4+i%5, i)
	}
	path := filepath.Join(dir, "orders.csv")
	require.NoError(t, os.WriteFile(path, []byte(table.String()), 0o666))
	return path
}

func contrib(t *testing.T, name string) string {
	t.Helper()
	path, err := filepath.Abs(filepath.Join("..", "..", "contrib", name))
	require.NoError(t, err)
	return path
}

// sameKits compares all files of all kits, and the joined results.
func sameKits(t *testing.T, want, is string) {
	t.Helper()
	out, err := exec.Command("diff", "-rq", "--exclude=results*", want, is).CombinedOutput()
	require.NoError(t, err, "%s", out)
	a, err := os.ReadFile(filepath.Join(want, "results.all.csv"))
	require.NoError(t, err)
	b, err := os.ReadFile(filepath.Join(is, "results.all.csv"))
	require.NoError(t, err)
	assert.Equal(t, string(a), strings.ReplaceAll(string(b), ",same,", ",made,"), "what was made before a kill and not told is told as the same")
}

// output runs a program and returns what it said.
func output(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(t, err, "%s", out)
	return string(out)
}

// Forty orders over a Slurm array of four tasks on two slots, one task killed
// in the middle and put back by Slurm: all are made, with the bytes of one
// process. The engine is Debian's slurm-wlm.
func TestSlurmArray(t *testing.T) {
	if testing.Short() {
		t.Skip("half a minute")
	}
	checker.Need(t, "munged", "slurmctld", "slurmd", "sbatch", "scontrol")
	if os.Getuid() != 0 {
		t.Skip("a cluster of one node is started by root")
	}
	exe, dir := program(t), t.TempDir()
	orders := shopOrders(t, dir, 40)
	one := filepath.Join(dir, "one")
	output(t, exe, "batch", orders, "--out", one, "--quiet")
	output(t, exe, "batch", "--gather", one)

	kits := filepath.Join(dir, "kits")
	script := fmt.Sprintf(`set -eu
cd %q
job=$(sbatch --parsable --array=1-4 --output=log-%%a %q %q %q)
for _ in $(seq 6000); do [ -s %[4]q/results.2-of-4.csv ] && [ "$(wc -l <%[4]q/results.2-of-4.csv)" -gt 2 ] && break; sleep .05; done
scontrol requeue "${job}_2"
for _ in $(seq 3000); do
  [ -z "$(squeue -h -j "$job" 2>/dev/null)" ] && break
  # What is put back waits two minutes unless told otherwise.
  scontrol show job "${job}_2" | grep -q Reason=BeginTime && scontrol update JobId="${job}_2" StartTime=now
  sleep .3
done
scontrol show job "$job" | grep -o 'JobState=[A-Z]*\|Restarts=[0-9]*' | sort | uniq -c
`, dir, contrib(t, "slurm-array.sbatch"), orders, kits)
	cmd := exec.Command(contrib(t, "one-node-slurm.sh"), "bash", "-c", script)
	cmd.Env = append(os.Environ(), "KITWRIGHT="+exe)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.Contains(t, string(out), "4 JobState=COMPLETED", "%s", out)
	assert.Contains(t, string(out), "1 Restarts=1", "%s", out)

	begun, err := os.ReadFile(filepath.Join(kits, "results.2-of-4.jsonl"))
	require.NoError(t, err)
	assert.Equal(t, 2, strings.Count(string(begun), `"orders_sha256"`), "the second task began twice")
	assert.Contains(t, output(t, exe, "batch", "--gather", kits), "40 of 40 orders made, 0 failed, 0 missing")
	sameKits(t, one, kits)
}

// GNU parallel, an order a process (Debian parallel).
func TestGNUParallel(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	checker.Need(t, "parallel")
	exe, dir := program(t), t.TempDir()
	orders := shopOrders(t, dir, 5)
	one, kits := filepath.Join(dir, "one"), filepath.Join(dir, "kits")
	output(t, exe, "batch", orders, "--out", one, "--quiet")
	output(t, exe, "batch", "--gather", one)
	cmd := exec.Command(contrib(t, "parallel.sh"), orders, kits, "-j2")
	cmd.Env = append(os.Environ(), "KITWRIGHT="+exe, "HOME="+dir)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.Contains(t, string(out), "5 of 5 orders made, 0 failed, 0 missing")
	sameKits(t, one, kits)
}

// The Kubernetes job has only fields that the published types have, of their
// kinds: those of Debian's python3-kubernetes, made from Kubernetes' OpenAPI
// description. Its pods do what the file says: each makes its share.
func TestKubernetesJob(t *testing.T) {
	if testing.Short() {
		t.Skip("it makes many kits")
	}
	checker.Need(t, "/usr/bin/python3")
	if exec.Command("/usr/bin/python3", "-c", "import kubernetes, yaml").Run() != nil {
		checker.Missing(t, "Debian's python3-kubernetes")
	}
	const walk = `
import sys, re, yaml
from kubernetes import client
def check(value, kind, at):
    m = re.fullmatch(r'(list|dict)(?:\[|\()(?:str, )?(\w+)(?:\]|\))', kind)
    if m:
        inner = value.items() if m[1] == 'dict' else enumerate(value)
        assert isinstance(value, dict if m[1] == 'dict' else list), at
        return sum(check(v, m[2], f'{at}.{k}') for k, v in inner)
    if kind in ('str', 'int', 'bool', 'float', 'object'):
        assert kind == 'object' or type(value).__name__ == kind, f'{at}: {value!r} is no {kind}'
        return 1
    model = getattr(client, kind)
    keys = {v: k for k, v in model.attribute_map.items()}
    assert isinstance(value, dict), at
    for k in value:
        assert k in keys, f'{at}: {kind} has no {k}'
    n = sum(check(v, model.openapi_types[keys[k]], f'{at}.{k}') for k, v in value.items())
    model(**{keys[k]: v for k, v in value.items()})  # required fields and allowed words
    return n
print(check(yaml.safe_load(open(sys.argv[1])), 'V1Job', 'job'))`
	file := contrib(t, "kubernetes-job.yaml")
	checked := strings.TrimSpace(output(t, "/usr/bin/python3", "-c", walk, file))
	assert.Regexp(t, `^[2-9]\d$`, checked, "how many values were checked")

	data, err := os.ReadFile(file)
	require.NoError(t, err)
	spoiled := filepath.Join(t.TempDir(), "spoiled.yaml")
	for _, fault := range [][2]string{{"completions: 4", "completion: 4"}, {"parallelism: 4", "parallelism: four"}, {"mountPath: /shop", "path: /shop"}} {
		require.Contains(t, string(data), fault[0])
		require.NoError(t, os.WriteFile(spoiled, []byte(strings.Replace(string(data), fault[0], fault[1], 1)), 0o666))
		assert.Error(t, exec.Command("/usr/bin/python3", "-c", walk, spoiled).Run(), fault[1])
	}

	args := regexp.MustCompile(`(?m)^\s*args: \[(.*)\]$`).FindStringSubmatch(string(data))
	require.Len(t, args, 2)
	n := regexp.MustCompile(`(?m)^  completions: (\d+)$`).FindStringSubmatch(string(data))
	require.Len(t, n, 2)
	dir := t.TempDir()
	shopOrders(t, dir, 5)
	line := strings.ReplaceAll(strings.ReplaceAll(args[1], `"`, ""), "/shop", dir)
	for i := range 4 {
		t.Setenv("JOB_COMPLETION_INDEX", fmt.Sprint(i))
		code, _, errs := kitwright(t, strings.Split(line, ", ")...)
		require.Zero(t, code, errs)
	}
	assert.Equal(t, "4", n[1])
	code, out, errs := kitwright(t, "batch", "--gather", filepath.Join(dir, "kits"))
	require.Zero(t, code, errs)
	assert.Contains(t, out, "5 of 5 orders made, 0 failed, 0 missing")
}

// The unit is one that systemd takes, and its command makes kits until it is
// told to end.
func TestWatchUnit(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	checker.Need(t, "systemd-analyze")
	exe, dir := program(t), t.TempDir()
	data, err := os.ReadFile(contrib(t, "kitwright-watch.service"))
	require.NoError(t, err)
	unit := filepath.Join(dir, "kitwright-watch.service")
	here := strings.NewReplacer("/usr/bin/kitwright", exe, "/etc/kitwright", dir, "/var/lib/kitwright", dir).Replace(string(data))
	require.NoError(t, os.WriteFile(unit, []byte(here), 0o666))
	out, err := exec.Command("systemd-analyze", "verify", "--man=no", unit).CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.NotContains(t, string(out), "kitwright-watch.service:", "no warning")

	start := regexp.MustCompile(`(?m)^ExecStart=(.*)$`).FindStringSubmatch(here)
	require.Len(t, start, 2)
	words := strings.Fields(strings.ReplaceAll(start[1], "${SHOP}", dir))
	watchUntilMade(t, dir, exec.Command(words[0], words[1:]...))
}

// heard is what a program says, to be read while it speaks.
type heard struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (h *heard) Write(p []byte) (int, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.text.Write(p)
}

func (h *heard) String() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.text.String()
}

// watchUntilMade drops a photo with a ticket, starts a watcher, waits for the
// kit, and ends the watcher as systems do.
func watchUntilMade(t *testing.T, dir string, cmd *exec.Cmd) {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "shop.toml"), []byte("grid = \"30x30\"\ncolors = 5\n"), 0o666))
	in := filepath.Join(dir, "in")
	require.NoError(t, os.MkdirAll(in, 0o777))
	shopOrders(t, in, 1)
	require.NoError(t, os.Rename(filepath.Join(in, "orders.csv"), filepath.Join(in, "list.txt")))
	require.NoError(t, os.WriteFile(filepath.Join(in, "cat0.json"), []byte(`{"title": "Mia"}`), 0o666))
	said := &heard{}
	cmd.Stdout, cmd.Stderr = said, said
	require.NoError(t, cmd.Start())
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	done := filepath.Join(dir, "done", "cat0.json")
	assert.Eventually(t, func() bool {
		_, err := os.Stat(done)
		return err == nil && strings.Contains(said.String(), "cat0.png: ")
	}, 3*time.Minute, 50*time.Millisecond)
	require.NoError(t, cmd.Process.Signal(syscall.SIGTERM))
	select {
	case <-ended:
	case <-time.After(3 * time.Minute):
		t.Error("it does not end")
		cmd.Process.Kill()
	}
	assert.Contains(t, said.String(), "cat0.png: ")
	k, err := folder.Read(filepath.Join(dir, "kits", "cat0"))
	require.NoError(t, err, said.String())
	assert.Equal(t, "Mia", k.Title)
	assert.Len(t, k.Chart.Legend, 5)
}

// The image is built by buildah and does what it was made for: it makes a kit
// of what lies in the folder, as a user without rights, and leaves nothing else
// there but what a cache is.
func TestContainerImage(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds")
	}
	checker.Need(t, "buildah")
	if os.Getuid() != 0 {
		t.Skip("without a daemon an image is built and run by root")
	}
	dir := t.TempDir()
	require.NoError(t, os.Rename(program(t), filepath.Join(dir, "kitwright")))
	store := []string{"--root", filepath.Join(dir, "images"), "--runroot", filepath.Join(dir, "run"), "--storage-driver", "vfs"}
	buildah := func(args ...string) string { return output(t, "buildah", append(store, args...)...) }
	buildah("bud", "--quiet", "--isolation", "chroot", "--file", contrib(t, "Containerfile"), "--tag", "kitwright", dir)
	var image struct {
		OCIv1 struct {
			Config struct {
				User, WorkingDir string
				Entrypoint, Cmd  []string
			} `json:"config"`
		}
	}
	require.NoError(t, json.Unmarshal([]byte(buildah("inspect", "--type", "image", "kitwright")), &image))
	config := image.OCIv1.Config
	assert.Equal(t, "10001:10001", config.User)

	work := filepath.Join(dir, "shop")
	in := filepath.Join(work, "in")
	require.NoError(t, os.MkdirAll(in, 0o755))
	shopOrders(t, in, 1)
	require.NoError(t, os.Remove(filepath.Join(in, "orders.csv")))
	require.NoError(t, os.WriteFile(filepath.Join(in, "cat0.json"), []byte(`{"grid": "30x30", "colors": 5}`), 0o644))
	for _, path := range []string{work, in, filepath.Join(in, "cat0.png"), filepath.Join(in, "cat0.json")} {
		require.NoError(t, os.Chown(path, 10001, 10001))
	}
	container := strings.TrimSpace(buildah("from", "--isolation", "chroot", "kitwright"))
	defer buildah("rm", container)
	run := append([]string{"run", "--isolation", "chroot", "--volume", work + ":" + config.WorkingDir, container, "--"}, config.Entrypoint...)
	assert.Contains(t, buildah(append(append(run, config.Cmd...), "--once", "--settle", "0s")...), "cat0.png: kits/cat0 made")
	k, err := folder.Read(filepath.Join(work, "kits", "cat0"))
	require.NoError(t, err)
	assert.Len(t, k.Chart.Legend, 5)
	assert.Equal(t, "10001\n", output(t, "stat", "-c", "%u", filepath.Join(work, "kits", "cat0")))
}
