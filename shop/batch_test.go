package shop_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/folder"
	"kitwright/internal/checker"
	"kitwright/palettes"
	"kitwright/shop"
)

// picture is a small picture, another one for each number.
func picture(t testing.TB, n int) []byte {
	t.Helper()
	m := image.NewNRGBA(image.Rect(0, 0, 60, 60))
	for y := range 60 {
		for x := range 60 {
			m.SetNRGBA(x, y, color.NRGBA{uint8(4 * x), uint8(4 * y), uint8(40 * n), 255})
		}
	}
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, m))
	return b.Bytes()
}

// place is a folder of orders: three photos and a table.
func place(t testing.TB, table string) (*shop.Shop, []shop.Order) {
	t.Helper()
	dir := t.TempDir()
	for n := range 3 {
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("cat%d.png", n)), picture(t, n), 0o666))
	}
	// Small and soon made: what these tests are about is not in the kits.
	s := &shop.Shop{
		Dir: dir, Out: filepath.Join(dir, "kits"), Jobs: 2, Release: "1",
		Order: map[string]string{"grid": "12x12", "colors": "6", "paper": "a4", "tone": "none", "subject": "none", "effort": "quick"},
		Card:  palettes.Named,
		Begin: func(_ context.Context, dest string, kind folder.Kind, opt folder.Options) (*folder.Making, error) {
			return folder.Begin(dest, kind, opt)
		},
	}
	orders, err := shop.ReadOrders("orders.csv", strings.NewReader(table))
	require.NoError(t, err)
	return s, orders
}

func run(t testing.TB, s *shop.Shop, orders []shop.Order, part shop.Part) (results map[string]shop.Result) {
	t.Helper()
	results = map[string]shop.Result{}
	_, err := s.Batch(context.Background(), orders, "sum", part, func(r shop.Result) { results[r.Name] = r })
	require.NoError(t, err)
	return results
}

func statuses(results map[string]shop.Result) map[string]shop.Status {
	out := map[string]shop.Status{}
	for name, r := range results {
		out[name] = r.Status
	}
	return out
}

// One bad order never stops the others, and each says why.
func TestBadOrdersStopNobody(t *testing.T) {
	s, orders := place(t, "photo,name,colors,size,keep\ncat0.png,good,6,,\ncat0.png,many,500,,\ncat0.png,lots,lots,,\nnone.png,gone,6,,\n../cat0.png,out,6,,\n,nothing,6,,\ncat0.png,a/b,6,,\ncat1.png,TWIN,6,,\ncat1.png,twin,6,,\ncat1.png,code,6,,XX\ncat1.png,CON,6,,\ncat2.png,also good,5,,\n")
	got := run(t, s, orders, shop.Part{})
	want := map[string]shop.Status{"good": shop.Made, "also good": shop.Made}
	for _, name := range []string{"many", "lots", "gone", "out", "nothing", "a/b", "TWIN", "twin", "code", "CON"} {
		want[name] = shop.Failed
		assert.NotEmpty(t, got[name].Reason, name)
		assert.NotEmpty(t, got[name].Hint, name)
	}
	assert.Equal(t, want, statuses(got))
	assert.Contains(t, got["out"].Reason, "lies outside the folder of the orders")
	assert.Contains(t, got["out"].Hint, "--allow-outside", "a flag, and no column")
	assert.Contains(t, got["twin"].Reason, `line 9 has the name "twin", too`)
	assert.Contains(t, got["many"].Reason, "colors")
	made, err := os.ReadDir(s.Out)
	require.NoError(t, err)
	var names []string
	for _, e := range made {
		names = append(names, e.Name())
	}
	assert.Equal(t, []string{"also good", "good", "results.csv", "results.jsonl"}, names, "nothing is left of what failed")
	k, err := folder.Read(filepath.Join(s.Out, "also good"))
	require.NoError(t, err)
	assert.Len(t, k.Chart.Legend, 5)
	assert.Equal(t, k.Chart.Mark(), got["also good"].Mark)
}

// What a row asks of the machine is checked before its photo is opened.
func TestBadProfilesAndInks(t *testing.T) {
	s, orders := place(t, "photo,name,pdf,shop-profile,convert,ink-limit\ncat0.png,broken,x4,cat0.png,,\ncat0.png,gone,x4,none.icc,,\ncat0.png,away,x4,../shop.icc,,\ncat0.png,monitor,x4,srgb.icc,,\ncat0.png,no inks,,,,280%\ncat0.png,odd,,,,lots\n")
	srgb := make([]byte, 132)
	copy(srgb[12:], "mntrRGB XYZ ")
	copy(srgb[36:], "acsp")
	srgb[3], srgb[8] = 132, 2
	require.NoError(t, os.WriteFile(filepath.Join(s.Dir, "srgb.icc"), srgb, 0o666))
	got := run(t, s, orders, shop.Part{})
	for name, want := range map[string]string{
		"broken": "no ICC profile", "gone": "cannot be opened", "away": "lies outside the folder", "monitor": "not of a printer", "no inks": "ink-limit is for colors in inks", "odd": "not a whole percentage",
	} {
		assert.Equal(t, shop.Failed, got[name].Status, name)
		assert.Contains(t, got[name].Reason, want, name)
		assert.NotEmpty(t, got[name].Hint, name)
	}
}

// No two orders are promised the same drills: each that charts from what is
// owned says itself what that is.
func TestEachOrderOwnsItsDrills(t *testing.T) {
	s, orders := place(t, "photo,name,own,stock\ncat0.png,none,true,\ncat1.png,its own,true,\"5R 4/14=400,N 1=400,N 9=400\"\n")
	s.Order["stock"] = "5R 4/14=400,N 1=400"
	got := run(t, s, orders, shop.Part{})
	assert.Equal(t, map[string]shop.Status{"none": shop.Failed, "its own": shop.Made}, statuses(got))
	assert.Contains(t, got["none"].Reason, "promised the same drills")
	assert.Contains(t, got["none"].Hint, "stock of its own")
	k, err := folder.Read(filepath.Join(s.Out, "its own"))
	require.NoError(t, err)
	assert.Equal(t, "5R 4/14=400,N 1=400,N 9=400", k.Order["stock"])
}

// A link is a path out of the folder, too.
func TestNoLinkLeadsOut(t *testing.T) {
	s, orders := place(t, "photo,name\nlink.png,linked\n")
	away := filepath.Join(t.TempDir(), "secret.png")
	require.NoError(t, os.WriteFile(away, picture(t, 1), 0o666))
	if err := os.Symlink(away, filepath.Join(s.Dir, "link.png")); err != nil {
		t.Skip("this system makes no links:", err)
	}
	got := run(t, s, orders, shop.Part{})
	assert.Equal(t, map[string]shop.Status{"linked": shop.Failed}, statuses(got))
	s.Outside = true
	assert.Equal(t, map[string]shop.Status{"linked": shop.Made}, statuses(run(t, s, orders, shop.Part{})))
}

// A run again makes what changed or failed, and nothing else.
func TestOnlyWhatChangedIsMadeAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("it makes seven kits")
	}
	const table = "photo,name,colors\ncat0.png,a,6\ncat1.png,b,6\nlate.png,c,6\n"
	s, orders := place(t, table)
	assert.Equal(t, map[string]shop.Status{"a": shop.Made, "b": shop.Made, "c": shop.Failed}, statuses(run(t, s, orders, shop.Part{})))

	orders[0].Settings[0].Value = "5"                                                        // another wish
	require.NoError(t, os.WriteFile(filepath.Join(s.Dir, "cat1.png"), picture(t, 5), 0o666)) // another photo by the same name
	require.NoError(t, os.WriteFile(filepath.Join(s.Dir, "late.png"), picture(t, 2), 0o666)) // the photo came
	assert.Equal(t, map[string]shop.Status{"a": shop.Made, "b": shop.Made, "c": shop.Made}, statuses(run(t, s, orders, shop.Part{})))

	require.NoError(t, os.Remove(filepath.Join(s.Out, "b", "canvas.pdf")))
	assert.Equal(t, map[string]shop.Status{"a": shop.Same, "b": shop.Made, "c": shop.Same}, statuses(run(t, s, orders, shop.Part{})))

	s.Release = "2"
	assert.Equal(t, map[string]shop.Status{"a": shop.Made}, statuses(run(t, s, orders[:1], shop.Part{})))
	assert.Equal(t, map[string]shop.Status{"a": shop.Same}, statuses(run(t, s, orders[:1], shop.Part{})))
}

// Shards that share a folder make together what one run makes, to the byte,
// also when one was killed in the middle: its results are torn and one kit is
// made, but not told.
func TestShardsMakeTheSame(t *testing.T) {
	var table strings.Builder
	table.WriteString("photo,name,colors,title\n")
	for i := range 4 {
		fmt.Fprintf(&table, "cat%d.png,order %d,%d,no. %d\n", i%3, i, 3+i, i)
	}
	table.WriteString("none.png,gone,6,\n")
	s, orders := place(t, table.String())
	run(t, s, orders, shop.Part{})
	whole := s.Out
	s.Out = filepath.Join(s.Dir, "shards")
	for i := range 2 {
		run(t, s, orders, shop.Part{Shard: i + 1, Of: 2})
	}
	torn := filepath.Join(s.Out, "results.2-of-2.jsonl")
	data, err := os.ReadFile(torn)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(torn, data[:len(data)-30], 0o666))
	g, err := shop.Gather(s.Out)
	require.NoError(t, err)
	require.Len(t, g.Missing, 1)
	assert.Equal(t, 5, g.Orders)
	assert.Empty(t, g.Absent())
	run(t, s, orders, shop.Part{Shard: 2, Of: 2})

	g, err = shop.Gather(s.Out)
	require.NoError(t, err)
	assert.Empty(t, g.Missing)
	one, err := shop.Gather(whole)
	require.NoError(t, err)
	for i := range g.Results {
		if g.Results[i].Status == shop.Same { // told by the run after the kill
			g.Results[i].Status = shop.Made
		}
	}
	assert.Equal(t, one.Results, g.Results)
	assert.Equal(t, kitsIn(t, whole), kitsIn(t, s.Out))

	require.NoError(t, os.Remove(filepath.Join(s.Out, "results.1-of-2.jsonl")))
	g, err = shop.Gather(s.Out)
	require.NoError(t, err)
	assert.Equal(t, []string{"1/2"}, g.Absent())
	assert.Len(t, g.Missing, 3)
}

// kitsIn returns the bytes of all files of kits in a folder.
func kitsIn(t *testing.T, dir string) map[string]string {
	files := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Dir(path) == dir {
			return err
		}
		data, err := os.ReadFile(path)
		rel, _ := filepath.Rel(dir, path)
		files[rel] = string(data)
		return err
	}))
	assert.Greater(t, len(files), 50)
	return files
}

// Two runs in one folder: the second is told, and nothing of the first is lost.
func TestTwoBatchesInOneFolder(t *testing.T) {
	s, orders := place(t, "photo,name\ncat0.png,a\n")
	var second error
	_, err := s.Batch(context.Background(), orders, "sum", shop.Part{}, func(shop.Result) {
		if second == nil {
			_, second = s.Batch(context.Background(), orders, "sum", shop.Part{}, func(shop.Result) {})
		}
	})
	require.NoError(t, err)
	assert.ErrorContains(t, second, "another batch is at work")
	g, err := shop.Gather(s.Out)
	require.NoError(t, err)
	assert.Len(t, g.Results, 1)
}

// Stopped in the middle, what is made stays and is told, what is begun is
// gone, and the next run goes on.
func TestStoppedInTheMiddle(t *testing.T) {
	s, orders := place(t, "photo,name\ncat0.png,a\ncat1.png,b\n")
	s.Jobs = 1
	ctx, stop := context.WithCancel(context.Background())
	_, err := s.Batch(ctx, orders, "sum", shop.Part{}, func(shop.Result) { stop() })
	assert.True(t, errors.Is(err, context.Canceled))
	made, err := filepath.Glob(filepath.Join(s.Out, "*"))
	require.NoError(t, err)
	assert.Len(t, made, 3, "one kit and two files of results")
	assert.Equal(t, map[string]shop.Status{"a": shop.Same, "b": shop.Made}, statuses(run(t, s, orders, shop.Part{})))
}

// The room for photos is kept, and an order that would never fit is refused.
func TestRoomForPhotos(t *testing.T) {
	s, orders := place(t, "photo,name\ncat0.png,a\ncat1.png,b\n")
	s.Memory = 60 << 20 // one small photo at a time
	assert.Equal(t, map[string]shop.Status{"a": shop.Made, "b": shop.Made}, statuses(run(t, s, orders, shop.Part{})))
	s.Memory = 40 << 20
	s.Release = "2"
	got := run(t, s, orders, shop.Part{})
	assert.Equal(t, shop.Failed, got["a"].Status)
	assert.Contains(t, got["a"].Reason, "all may take 40 MB together")
}

// A check makes nothing and finds what a run would find.
func TestCheckTellsEveryProblem(t *testing.T) {
	s, orders := place(t, "photo,name,colors,subject\ncat0.png,a,6,\nnone.png,b,6,\ncat1.png,c,1,\ncat2.png,d,6,\"90,90,1,1\"\nbroken.png,e,6,\n")
	require.NoError(t, os.WriteFile(filepath.Join(s.Dir, "broken.png"), picture(t, 1)[:90], 0o666))
	bad, err := s.Check(context.Background(), orders)
	require.NoError(t, err)
	_, err = os.Stat(s.Out)
	assert.True(t, os.IsNotExist(err))
	got := run(t, s, orders, shop.Part{})
	want := map[string]string{}
	for name, r := range got {
		if r.Status == shop.Failed {
			want[name] = r.Reason
		}
	}
	found := map[string]string{}
	for _, r := range bad {
		found[r.Name] = r.Reason
	}
	assert.Equal(t, want, found)
	assert.GreaterOrEqual(t, len(found), 3)
}

// A day's table of a large shop is read, and one of more is refused whole.
func TestTablesOfManyRows(t *testing.T) {
	checker.Slow(t)
	table := []byte("photo,name\n")
	row := func(i int) { table = fmt.Appendf(table, "cat.png,%d\n", i) }
	for i := range 100_000 {
		row(i)
	}
	orders, err := shop.ReadOrders("orders.csv", bytes.NewReader(table))
	require.NoError(t, err)
	assert.Len(t, orders, 100_000)
	assert.NoError(t, orders[99_999].Bad)
	for i := 100_000; i <= shop.MaxOrders; i++ {
		row(i)
	}
	_, err = shop.ReadOrders("orders.csv", bytes.NewReader(table))
	assert.ErrorContains(t, err, "200")
}

func TestTablesThatAreNone(t *testing.T) {
	for table, want := range map[string]string{
		"":                           "is empty",
		"photo,name\n":               "holds no orders",
		"name,size\na,20x20cm\n":     "has no column photo",
		"photo,colours\na.png,3\n":   `has a column "colours", which is no setting`,
		"photo,size,Size\na.png,,\n": "has two columns size",
	} {
		_, err := shop.ReadOrders("orders.csv", strings.NewReader(table))
		assert.ErrorContains(t, err, want, table)
	}
	orders, err := shop.ReadOrders("orders.csv", strings.NewReader("Photo;--Colors;Caption Size\nb/Rusty.jpg;12;\n"))
	require.NoError(t, err)
	assert.Equal(t, []shop.Order{{Row: 1, Line: 2, Name: "Rusty", Photo: "b/Rusty.jpg", Settings: []shop.Setting{{Name: "colors", Value: "12"}}}}, orders)
}

// A shard is what the engines say it is: Slurm's variables as in sbatch(1),
// the index as in Kubernetes' documentation of indexed jobs.
func TestShardsOfEngines(t *testing.T) {
	for _, x := range []struct {
		text string
		env  map[string]string
		want string // "" = refused
	}{
		{"2/4", nil, "2/4"}, {"4/4", nil, "4/4"}, {"5/4", nil, ""}, {"0/4", nil, ""}, {"2", nil, ""}, {"a/b", nil, ""}, {"auto", nil, ""}, {"auto/x", nil, ""},
		{"auto", map[string]string{"SLURM_ARRAY_TASK_ID": "3", "SLURM_ARRAY_TASK_MIN": "1", "SLURM_ARRAY_TASK_COUNT": "4"}, "3/4"},
		{"auto", map[string]string{"SLURM_ARRAY_TASK_ID": "0", "SLURM_ARRAY_TASK_MIN": "0", "SLURM_ARRAY_TASK_COUNT": "4"}, "1/4"},
		{"auto", map[string]string{"SLURM_ARRAY_TASK_ID": "14", "SLURM_ARRAY_TASK_MIN": "10", "SLURM_ARRAY_TASK_COUNT": "3", "SLURM_ARRAY_TASK_STEP": "2"}, "3/3"},
		{"auto/8", map[string]string{"SLURM_ARRAY_TASK_ID": "3", "SLURM_ARRAY_TASK_MIN": "3", "SLURM_ARRAY_TASK_COUNT": "1"}, "1/8"},
		{"auto/4", map[string]string{"JOB_COMPLETION_INDEX": "0"}, "1/4"}, {"auto/4", map[string]string{"JOB_COMPLETION_INDEX": "4"}, ""}, {"auto", map[string]string{"JOB_COMPLETION_INDEX": "0"}, ""},
	} {
		var p shop.Part
		v := shop.Shard{To: &p, Env: func(name string) string { return x.env[name] }}
		err := v.Set(x.text)
		if x.want == "" {
			assert.Error(t, err, x.text)
			continue
		}
		require.NoError(t, err, x.text)
		assert.Equal(t, x.want, v.String())
	}
}

// Every order belongs to one shard.
func TestShardsCutATableUp(t *testing.T) {
	for of := 1; of < 9; of++ {
		for row := 1; row < 40; row++ {
			n := 0
			for i := range of {
				if (shop.Part{Shard: i + 1, Of: of}).Has(shop.Order{Row: row}) {
					n++
				}
			}
			assert.Equal(t, 1, n)
		}
	}
}
