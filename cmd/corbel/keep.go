package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"corbel/practice"
	"corbel/store"
)

// kept is where a practice is kept; serve has the same flags.
type kept struct {
	Data     string `help:"Folder of the practice." default:"practice-data" placeholder:"DIR"`
	Database string `help:"PostgreSQL the practice is kept in, postgres://...; the file in --data if left out." placeholder:"URL"`
}

// open opens a practice that is there.
func (k kept) open(ctx context.Context) (*store.Store, error) {
	if k.Database == "" {
		if _, err := os.Stat(filepath.Join(k.Data, store.File)); err != nil {
			return nil, fmt.Errorf("%s holds no practice; name its folder with --data", k.Data)
		}
	}
	return openStore(ctx, k.Data, k.Database)
}

// program is who changes a practice from the command line: whoever may read its files
// may do everything. Notes of the audit name nobody for it.
var program = &practice.Account{Role: practice.Coach}

// with opens the practice and runs f on it.
func (k kept) with(a *app, f func(ctx context.Context, s *store.Store, p *practice.Practice) error) error {
	ctx := context.Background()
	s, err := k.open(ctx)
	if err != nil {
		return err
	}
	return errors.Join(f(ctx, s, a.practice(s)), s.Close())
}

type backupCmd struct {
	File string `arg:"" help:"File to write; it must not be there."`
	kept
}

// Run writes a backup.
func (c *backupCmd) Run(a *app) error {
	return c.with(a, func(ctx context.Context, s *store.Store, _ *practice.Practice) error {
		if err := s.Backup(ctx, c.File); err != nil {
			return err
		}
		info, err := os.Stat(c.File)
		if err == nil {
			fmt.Fprintf(a.out, "%s written, %d kB; keep it as safe as the practice itself\n", c.File, (info.Size()+1023)>>10)
		}
		return err
	})
}

type restoreCmd struct {
	File   string `arg:"" help:"Backup to restore."`
	Data   string `help:"Folder to put it into; no database may lie there." default:"practice-data" placeholder:"DIR"`
	Erased string `help:"List of erased clients; the one in --data if left out." placeholder:"FILE"`
}

// Run restores a backup and erases again who was erased since.
func (c *restoreCmd) Run(a *app) error {
	list := c.Erased
	if list == "" {
		list = filepath.Join(c.Data, store.ErasedFile)
	} else if _, err := os.Stat(list); err != nil {
		return fmt.Errorf("%s: there is no such file", list)
	}
	erased, err := store.ReadErased(list)
	if err != nil {
		return err
	}
	ctx := context.Background()
	if err := store.Restore(ctx, c.File, c.Data); err != nil {
		return err
	}
	return kept{Data: c.Data}.with(a, func(ctx context.Context, s *store.Store, p *practice.Practice) error {
		back, err := p.Forget(ctx, erased)
		if err == nil {
			err = p.SignEverybodyOut(ctx)
		}
		if err != nil {
			return err
		}
		fmt.Fprintf(a.out, "%s restored into %s; everybody signs in again\n", c.File, c.Data)
		if back > 0 {
			fmt.Fprintf(a.out, "%d erased since it was made, erased again\n", back)
		}
		return verified(ctx, a, s, p)
	})
}

type verifyCmd struct {
	Erased string `help:"List of erased clients; who stands in it and is in the practice is erased again. For a database that was restored by PostgreSQL's own tools." placeholder:"FILE"`
	kept
}

// Run verifies a practice.
func (c *verifyCmd) Run(a *app) error {
	return c.with(a, func(ctx context.Context, s *store.Store, p *practice.Practice) error {
		if c.Erased != "" {
			if _, err := os.Stat(c.Erased); err != nil {
				return fmt.Errorf("%s: there is no such file", c.Erased)
			}
			list, err := store.ReadErased(c.Erased)
			if err != nil {
				return err
			}
			back, err := p.Forget(ctx, list)
			if err != nil {
				return err
			}
			fmt.Fprintf(a.out, "%d erased again\n", back)
		}
		return verified(ctx, a, s, p)
	})
}

// verified says what of a practice does not agree, or that all does.
func verified(ctx context.Context, a *app, s *store.Store, p *practice.Practice) error {
	if err := s.Check(ctx); err != nil {
		fmt.Fprintln(a.out, err)
		return errNo
	}
	wrong, err := p.Verify(ctx)
	if err != nil {
		return err
	}
	for _, w := range wrong {
		fmt.Fprintln(a.out, w)
	}
	if len(wrong) > 0 {
		fmt.Fprintf(a.out, "%d documents do not agree with their history; restore a backup beside it and compare\n", len(wrong))
		return errNo
	}
	n := 0
	for _, kind := range practice.Kinds {
		docs, err := p.Docs(ctx, program, kind, "")
		if err != nil {
			return err
		}
		n += len(docs)
	}
	fmt.Fprintf(a.out, "whole: %d documents, each as its history makes it\n", n)
	return nil
}

type packCmd struct {
	Out    string `short:"o" required:"" help:"Zip file to write; it must not be there." placeholder:"FILE"`
	Client string `help:"Client, member or group, by id; the whole practice if left out." placeholder:"ID"`
	kept
}

// Run writes a package.
func (c *packCmd) Run(a *app) error {
	if _, err := os.Stat(c.Out); err == nil {
		return fmt.Errorf("%s exists; choose another name", c.Out)
	}
	return c.with(a, func(ctx context.Context, _ *store.Store, p *practice.Practice) error {
		data, err := p.Pack(ctx, program, c.Client)
		if err != nil {
			return err
		}
		if err := os.WriteFile(c.Out, data, 0o600); err != nil {
			return err
		}
		fmt.Fprintf(a.out, "%s written, %d kB\n", c.Out, (len(data)+1023)>>10)
		return nil
	})
}

type unpackCmd struct {
	File string `arg:"" help:"Zip file to take in."`
	kept
}

// Run takes a package in, into a new practice where none is there.
func (c *unpackCmd) Run(a *app) error {
	data, err := fs.ReadFile(a.files, c.File)
	if err != nil {
		return fmt.Errorf("%s cannot be read; check the name", c.File)
	}
	ctx := context.Background()
	s, err := openStore(ctx, c.Data, c.Database)
	if err != nil {
		return err
	}
	n, err := a.practice(s).Unpack(ctx, program, data)
	if err == nil {
		fmt.Fprintf(a.out, "%d documents taken in\n", n)
	}
	return errors.Join(err, s.Close())
}

type eraseCmd struct {
	Client string `arg:"" help:"Client or member, by id."`
	Sure   bool   `help:"Say that you mean it: nothing brings a client back."`
	kept
}

// Run erases a client.
func (c *eraseCmd) Run(a *app) error {
	if !c.Sure {
		return fmt.Errorf("erasing takes %s out for good, from backups that are restored too; pack first what is to be kept, then say --sure", c.Client)
	}
	return c.with(a, func(ctx context.Context, _ *store.Store, p *practice.Practice) error {
		if err := p.Erase(ctx, program, c.Client); err != nil {
			return err
		}
		fmt.Fprintln(a.out, "erased; destroy older backups when their time has come, and what you packed or printed")
		return nil
	})
}
