package folder

import (
	"maps"
	"os"
	"path/filepath"

	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/palettes"
	"kitwright/render"
)

// Read reads the kit.json of a kit folder, and the kit's target where it is
// at hand: kits that were made before there was one have none.
func Read(dir string) (*kit.Kit, error) {
	const try = "name a folder that kitwright chart made"
	info, err := os.Stat(dir)
	if err != nil {
		return nil, input.NotThere("kit", dir, err)
	}
	if !info.IsDir() {
		return nil, say.Failed(try, "%s is not a kit folder", dir)
	}
	path := filepath.Join(dir, kitKey)
	if _, err := os.Stat(path); os.IsNotExist(err) {
		return nil, say.Failed(try, "%s holds no kit.json", dir)
	}
	f, err := input.Open(path, "kit")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	k, err := kit.ReadJSON(f)
	if err != nil {
		return nil, err
	}
	path = filepath.Join(dir, kit.TargetFile)
	if _, err := os.Stat(path); os.IsNotExist(err) {
		return k, readEdits(dir, k)
	}
	target, err := input.Open(path, "kit")
	if err != nil {
		return nil, err
	}
	defer target.Close()
	if err := k.ReadTarget(target); err != nil {
		return nil, err
	}
	return k, readEdits(dir, k)
}

// readEdits reads what was changed by hand in a kit, if anything was.
func readEdits(dir string, k *kit.Kit) error {
	log, made := filepath.Join(dir, kit.EditsFile), filepath.Join(dir, kit.MadeFile)
	if _, err := os.Stat(log); os.IsNotExist(err) {
		return nil
	}
	l, err := input.Open(log, "kit")
	if err != nil {
		return err
	}
	defer l.Close()
	m, err := input.Open(made, "kit")
	if err != nil {
		return err
	}
	defer m.Close()
	return k.ReadEdits(l, m)
}

// Stands says whether a kit stands in a folder already: of this photo and
// card, with this order and these prints, and whole.
func Stands(dir string, photoSHA string, card *palettes.Card, o kit.Order, p render.Print) (*kit.Kit, bool) {
	k, err := Read(dir)
	if err != nil || k.Stopped || k.Photo.SHA256 != photoSHA || k.Card.SHA256 != card.SHA256() || !maps.Equal(k.Order, o.Settings()) || !maps.Equal(k.Print, p.Settings()) {
		return nil, false
	}
	for _, f := range Outputs() {
		if f.Due(k) && !f.there(dir, k, p) {
			return nil, false
		}
	}
	return k, true
}
