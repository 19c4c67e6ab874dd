package store

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"sync"
	"syscall"
	"testing"
	"time"

	"corbel/body"
	"corbel/examples"
	"corbel/exercise"
	"corbel/plan"
	"corbel/practice"
)

// cluster is the throw-away PostgreSQL of this test run: its socket folder, or why
// there is none.
var cluster = sync.OnceValues(startCluster)

// stopCluster stops the cluster where one was started.
var stopCluster = func() {}

// startCluster starts PostgreSQL in a temporary folder, on a socket alone. A server
// refuses to run as root, so root runs it as the user its package makes.
func startCluster() (socket string, err error) {
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin")
	if err != nil || len(found) == 0 {
		return "", fmt.Errorf("no PostgreSQL server in /usr/lib/postgresql: run make test, or install Debian's postgresql")
	}
	bin := found[len(found)-1]
	dir, err := os.MkdirTemp("", "corbel-pg-")
	if err != nil {
		return "", err
	}
	attributes := &syscall.SysProcAttr{}
	if os.Getuid() == 0 {
		u, err := user.Lookup("postgres")
		if err != nil {
			return "", err
		}
		uid, _ := strconv.Atoi(u.Uid)
		gid, _ := strconv.Atoi(u.Gid)
		if err := os.Chown(dir, uid, gid); err != nil {
			return "", err
		}
		attributes.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	}
	run := func(name string, args ...string) error {
		c := exec.Command(filepath.Join(bin, name), args...)
		c.SysProcAttr, c.Dir = attributes, dir
		out, err := c.CombinedOutput()
		if err != nil {
			return fmt.Errorf("%s: %w\n%s", name, err, out)
		}
		return nil
	}
	data := filepath.Join(dir, "data")
	if err := run("initdb", "-D", data, "-U", "corbel", "-A", "trust", "--no-sync", "-E", "UTF8", "--locale=C"); err != nil {
		return "", err
	}
	if err := run("pg_ctl", "-D", data, "-w", "-l", filepath.Join(dir, "log"), "-o", "-c listen_addresses='' -c max_connections=200 -k "+dir, "start"); err != nil {
		return "", err
	}
	stopCluster = func() {
		if err := run("pg_ctl", "-D", data, "-m", "immediate", "stop"); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
		os.RemoveAll(dir)
	}
	return dir, nil
}

func TestMain(m *testing.M) {
	if os.Getenv("CORBEL_KILLED") != "" {
		editUntilKilled(os.Getenv("CORBEL_KILLED"), os.Getenv("CORBEL_ROUND"))
		return
	}
	code := m.Run()
	stopCluster()
	os.RemoveAll(filepath.Join(os.TempDir(), bodiesFolder()))
	os.Exit(code)
}

// address returns the address of a new database of PostgreSQL, which `make test`
// installs.
func address(t testing.TB) string {
	t.Helper()
	socket, err := cluster()
	if err != nil {
		t.Fatal(err)
	}
	admin, err := OpenPostgres(t.Context(), "postgres:///postgres?user=corbel&host="+socket)
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close()
	name := fmt.Sprintf("t%d", time.Now().UnixNano())
	if _, err := admin.write.Exec("create database " + name); err != nil {
		t.Fatal(err)
	}
	return "postgres:///" + name + "?user=corbel&host=" + socket
}

// onBoth runs a test on a new store of either kind.
func onBoth(t *testing.T, f func(t *testing.T, s *Store)) {
	t.Helper()
	onBothAt(t, func(t *testing.T, s *Store, _ string) { f(t, s) })
}

// onBothAt is onBoth for tests that open the store again, by folder or address.
func onBothAt(t *testing.T, f func(t *testing.T, s *Store, place string)) {
	t.Helper()
	for _, where := range []string{"sqlite", "postgres"} {
		t.Run(where, func(t *testing.T) {
			place := t.TempDir()
			if where == "postgres" {
				place = address(t)
			}
			s := open(t, place)
			f(t, s, place)
		})
	}
}

// open opens a store at a folder or an address.
func open(t testing.TB, place string) *Store {
	t.Helper()
	s, err := openAt(t.Context(), place)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func openAt(ctx context.Context, place string) (*Store, error) {
	if filepath.IsAbs(place) {
		return OpenSQLite(ctx, place)
	}
	return OpenPostgres(ctx, place)
}

// bodiesFolder is where the bodies solved in a test run are kept.
func bodiesFolder() string { return fmt.Sprintf("corbel-bodies-%d", os.Getpid()) }

// noon is the time it is in tests.
func noon() time.Time { return time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC) }

// filled returns a practice with a coach, an assistant for Tomas alone, and the
// examples.
func filled(t testing.TB, s *Store) (p *practice.Practice, coach, assistant *practice.Account) {
	t.Helper()
	p = practice.New(s, exercise.Shipped, noon, plan.MadeWith{Program: "test", Library: "1", Model: "1"})
	p.Bodies = &body.Cache{Dir: filepath.Join(os.TempDir(), bodiesFolder()), Most: body.CacheMost, Now: noon}
	token, err := p.SetUpLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if coach, err = p.SetUp(t.Context(), token, "Ida Brandt", "Ida@Example.org", "four plain long words"); err != nil {
		t.Fatal(err)
	}
	if assistant, err = p.AddAccount(t.Context(), coach, "Jon Weiss", "jon@example.org", "another plain phrase", practice.Assistant); err != nil {
		t.Fatal(err)
	}
	for _, d := range []struct {
		kind        practice.Kind
		owner, file string
	}{
		{practice.ClientDoc, "", "rosa-client.yaml"}, {practice.ClientDoc, "", "tomas-client.yaml"},
		{practice.BlockDoc, "rosa-l", "rosa-block.yaml"}, {practice.BlockDoc, "", "tomas-block.yaml"},
		{practice.LogDoc, "", "rosa-log.yaml"},
	} {
		text, err := examples.Files.ReadFile(d.file)
		if err != nil {
			t.Fatal(err)
		}
		if d.owner == "" && d.kind == practice.BlockDoc {
			d.owner = tomas(t, p, coach)
		}
		id := "put-0000-" + d.file[:len(d.file)-len(".yaml")]
		if _, err := p.Put(t.Context(), coach, d.kind, d.owner, string(text), id); err != nil {
			t.Fatal(d.file, err)
		}
	}
	if err := p.SetAccess(t.Context(), coach, assistant.ID, []string{tomas(t, p, coach)}); err != nil {
		t.Fatal(err)
	}
	return p, coach, assistant
}

// tomas returns the id of the second client.
func tomas(t testing.TB, p *practice.Practice, who *practice.Account) string {
	t.Helper()
	docs, err := p.Docs(t.Context(), who, practice.ClientDoc, "")
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range docs {
		if d.ID != "rosa-l" {
			return d.ID
		}
	}
	t.Fatal("there is no second client")
	return ""
}
