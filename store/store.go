package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx"
	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the driver "sqlite"

	"corbel/practice"
)

//go:embed migrations
var migrations embed.FS

// A Store is a practice in a database.
type Store struct {
	write, read *sql.DB
	begin       string // statement that lets one Update run at a time; empty where the connection does
	path        string // file of SQLite; empty for PostgreSQL
}

// Pools: SQLite has one connection that writes and a few that read (our judgement,
// measured in docs/decision/0018-store.md).
const (
	readers         = 4
	postgresAtOnce  = 8
	busyMillisecond = 10000 // how long another process may hold the file
)

// File is the name of the database in a data folder.
const File = "corbel.db"

// OpenSQLite opens or makes the database in a folder, which nobody else may read.
// What Update acknowledges is on the disk: every commit is synced.
func OpenSQLite(ctx context.Context, dir string) (*Store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("%s: this folder cannot be made; choose another with --data", dir)
	}
	if err := os.Chmod(dir, 0o700); err != nil {
		return nil, fmt.Errorf("%s: this folder cannot be closed to others; choose one of your own with --data", dir)
	}
	return openFile(ctx, filepath.Join(dir, File))
}

// openFile opens a database file and brings it to the newest form.
func openFile(ctx context.Context, name string) (*Store, error) {
	s, err := connectFile(name)
	if err != nil {
		return nil, err
	}
	if err := s.migrate(ctx, goose.DialectSQLite3, "migrations/sqlite"); err != nil {
		s.Close()
		return nil, fmt.Errorf("%s: the database cannot be opened: %w", name, err)
	}
	return s, nil
}

// connectFile opens a database file as it is.
func connectFile(name string) (*Store, error) {
	pragmas := url.Values{"_pragma": {fmt.Sprintf("busy_timeout(%d)", busyMillisecond), "journal_mode(WAL)", "synchronous(FULL)",
		"foreign_keys(1)", "secure_delete(1)"}}
	write := url.Values{"_txlock": {"immediate"}, "_pragma": pragmas["_pragma"]}
	file, err := uri(name)
	if err != nil {
		return nil, err
	}
	w, err1 := sql.Open("sqlite", file+"?"+write.Encode())
	r, err2 := sql.Open("sqlite", file+"?"+pragmas.Encode())
	if err := errors.Join(err1, err2); err != nil {
		return nil, err
	}
	w.SetMaxOpenConns(1)
	r.SetMaxOpenConns(readers)
	return &Store{write: w, read: r, path: name}, nil
}

// uri writes the name of a file as SQLite reads it: whole, so that its first folder is
// not taken for a host.
func uri(name string) (string, error) {
	full, err := filepath.Abs(name)
	if err != nil {
		return "", fmt.Errorf("%s: this folder cannot be found: %w", name, err)
	}
	return (&url.URL{Scheme: "file", Path: full}).String(), nil
}

// OpenPostgres opens a database of PostgreSQL by its address, postgres://…
func OpenPostgres(ctx context.Context, address string) (*Store, error) {
	s, err := connectPostgres(address)
	if err != nil {
		return nil, err
	}
	if err := s.migrate(ctx, goose.DialectPostgres, "migrations/postgres"); err != nil {
		s.Close()
		return nil, fmt.Errorf("--database: the database cannot be opened: %w", err)
	}
	return s, nil
}

// connectPostgres opens a database as it is.
func connectPostgres(address string) (*Store, error) {
	db, err := sql.Open("pgx", address)
	if err != nil {
		return nil, errors.New("--database: the address cannot be read; write such as postgres://user@host/corbel")
	}
	db.SetMaxOpenConns(postgresAtOnce)
	return &Store{write: db, read: db, begin: fmt.Sprintf("select pg_advisory_xact_lock(%d)", writeLock)}, nil
}

// writeLock is the number of the lock under which one Update runs at a time, so
// that both databases behave alike.
const writeLock = 0x636f7262

// migrate brings the tables to the newest form.
func (s *Store) migrate(ctx context.Context, d goose.Dialect, dir string) error {
	files, err := fs.Sub(migrations, dir)
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(d, s.write, files)
	if err != nil {
		return err
	}
	known := p.ListSources()
	now, err := p.GetDBVersion(ctx)
	if err != nil {
		return err
	}
	if newest := known[len(known)-1].Version; now > newest {
		return fmt.Errorf("it was written by a newer program (form %d; this one knows %d): take the newer program, nothing was changed", now, newest)
	}
	_, err = p.Up(ctx)
	return err
}

// Close closes the database.
func (s *Store) Close() error {
	err := s.write.Close()
	if s.read != s.write {
		err = errors.Join(s.read.Close(), err)
	}
	return err
}

// View runs f on one state of the store.
func (s *Store) View(ctx context.Context, f func(practice.Reader) error) error {
	o := &sql.TxOptions{ReadOnly: true}
	if s.path == "" {
		o.Isolation = sql.LevelRepeatableRead
	}
	tx, err := s.read.BeginTx(ctx, o)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // nothing was written
	return f(&rows{ctx: ctx, tx: tx})
}

// Update runs f alone, whole or not at all.
func (s *Store) Update(ctx context.Context, f func(practice.Writer) error) error {
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // after a commit it does nothing
	if s.begin != "" {
		if _, err := tx.ExecContext(ctx, s.begin); err != nil {
			return err
		}
	}
	if err := f(&rows{ctx: ctx, tx: tx}); err != nil {
		return err
	}
	return tx.Commit()
}

// Backup writes the whole store to a new file while it is used. For PostgreSQL
// use its own pg_dump.
func (s *Store) Backup(ctx context.Context, name string) error {
	if s.path == "" {
		return errors.New("a backup of PostgreSQL is made by its own pg_dump, and brought back by pg_restore: use these")
	}
	if _, err := os.Stat(name); err == nil {
		return fmt.Errorf("%s exists; a backup overwrites nothing: choose another name", name)
	}
	aside := name + ".part"
	f, err := os.OpenFile(aside, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("%s cannot be written; an earlier backup may lie there half done", aside)
	}
	defer os.Remove(aside)
	if err := f.Close(); err != nil {
		return err
	}
	if _, err := s.read.ExecContext(ctx, "vacuum into $1", aside); err != nil {
		return fmt.Errorf("%s: the backup could not be written: %w", name, err)
	}
	if f, err = os.OpenFile(aside, os.O_RDWR, 0); err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(aside, name)
}

// Check asks the database whether its file is whole.
func (s *Store) Check(ctx context.Context) error {
	if s.path == "" {
		return nil // PostgreSQL holds checksums of its own
	}
	var answer string
	if err := s.read.QueryRowContext(ctx, "pragma integrity_check").Scan(&answer); err != nil {
		return err
	}
	if answer != "ok" {
		return fmt.Errorf("the database file is damaged: %s; restore a backup", answer)
	}
	return nil
}

// Restore puts a backup into a data folder where no database lies.
func Restore(ctx context.Context, backup, dir string) error {
	name := filepath.Join(dir, File)
	for _, there := range []string{name, name + "-wal", name + "-shm"} {
		if _, err := os.Stat(there); err == nil {
			return fmt.Errorf("%s exists; a backup overwrites nothing: move it away first, with its journal", there)
		}
	}
	from, err := openBackup(ctx, backup)
	if err != nil {
		return err
	}
	defer from.Close()
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("%s: this folder cannot be made; choose another with --data", dir)
	}
	return from.Backup(ctx, name)
}

// openBackup opens a backup to read, and checks that it is one and whole.
func openBackup(ctx context.Context, name string) (*Store, error) {
	if _, err := os.Stat(name); err != nil {
		return nil, fmt.Errorf("%s: there is no such file", name)
	}
	file, err := uri(name)
	if err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", file+"?mode=ro")
	if err != nil {
		return nil, err
	}
	s := &Store{write: db, read: db, path: name}
	var n int
	err = db.QueryRowContext(ctx, "select count(*) from docs").Scan(&n)
	if err == nil {
		err = s.Check(ctx)
	}
	if err != nil {
		s.Close()
		return nil, fmt.Errorf("%s is not a whole backup: %w", name, err)
	}
	return s, nil
}
