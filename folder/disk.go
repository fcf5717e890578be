package folder

import (
	"io"
	"os"
)

// disk does everything that changes the file system, an operation at a time,
// so that tests can stop or fail a run at every one of them.
type disk struct {
	hook func(op, path string) error // told before each operation; nil outside tests
	open []*os.File                  // where there is a hook: what the end of a process would close
}

func (d *disk) before(op, path string) error {
	if d.hook == nil {
		return nil
	}
	return d.hook(op, path)
}

func (d *disk) mkdir(path string) error {
	if err := d.before("mkdir", path); err != nil {
		return err
	}
	return os.Mkdir(path, 0o777)
}

func (d *disk) rename(from, to string) error {
	if err := d.before("rename", from); err != nil {
		return err
	}
	return os.Rename(from, to)
}

func (d *disk) remove(path string) error {
	if err := d.before("remove", path); err != nil {
		return err
	}
	return os.Remove(path)
}

func (d *disk) create(path string, how int) (*os.File, error) {
	if err := d.before("create", path); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, how|os.O_CREATE, 0o666)
	if err == nil && d.hook != nil {
		d.open = append(d.open, f)
	}
	return f, err
}

func (d *disk) write(f *os.File, p []byte) (int, error) {
	if err := d.before("write", f.Name()); err != nil {
		return 0, err
	}
	return f.Write(p)
}

func (d *disk) sync(f *os.File) error {
	if err := d.before("sync", f.Name()); err != nil {
		return err
	}
	if d.hook != nil {
		return nil // a test's process ends, its machine does not
	}
	return f.Sync()
}

// exists says whether there is anything at a path, be it a broken link.
func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// diskWriter writes a file and remembers the disk's own error, whatever is
// made of it above.
type diskWriter struct {
	disk *disk
	file *os.File
	err  error
}

func (w *diskWriter) Write(p []byte) (int, error) {
	n, err := w.disk.write(w.file, p)
	if err != nil && w.err == nil {
		w.err = err
	}
	return n, err
}

// fill writes a file and closes it; what is written is not sure to be on the
// disk yet. The first error is the disk's, the second the content's own.
func (d *disk) fill(out *os.File, content func(io.Writer) error) (onDisk, own error) {
	w := &diskWriter{disk: d, file: out}
	own = content(w)
	if err := out.Close(); w.err == nil && own == nil {
		w.err = err
	}
	return w.err, own
}

// Exists says whether there is anything at a path.
func Exists(path string) bool { return exists(path) }
