package shop

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"kitwright/internal/say"
	"kitwright/palettes/intake"
)

// readTicket reads what is wanted of a photo: a table of one order, or a flat
// JSON object of settings.
func readTicket(dir, photo, ticket string) (Order, error) {
	o := Order{Row: 1, Line: 1, Photo: photo, Name: strings.TrimSuffix(photo, filepath.Ext(photo))}
	if err := folderName(o.Name); err != nil {
		return o, err
	}
	if ticket == "" {
		return o, nil
	}
	data, err := os.ReadFile(filepath.Join(dir, ticket))
	if err != nil {
		return o, say.File("the ticket cannot be read", ticket, err)
	}
	said := map[string]string{}
	if strings.EqualFold(filepath.Ext(ticket), ".json") {
		err = readJSONTicket(ticket, data, said)
	} else {
		err = readTableTicket(ticket, data, said)
	}
	if err != nil {
		return o, err
	}
	if photoSaid, there := said["photo"]; there && photoSaid != photo {
		return o, say.Usage("leave the photo out of the ticket: it is the one of the same name", "%s names another photo, %s", ticket, photoSaid)
	}
	if name := said["name"]; name != "" {
		if o.Name = name; folderName(name) != nil {
			return o, folderName(name)
		}
	}
	for _, name := range sortedKeys(said) {
		if name != "photo" && name != "name" && said[name] != "" {
			o.Settings = append(o.Settings, Setting{name, said[name]})
		}
	}
	return o, nil
}

func readTableTicket(name string, data []byte, said map[string]string) error {
	lines, err := intake.Rows("ticket", name, strings.NewReader(string(data)), 3)
	if err != nil {
		return err
	}
	if len(lines) != 2 || lines[1].Bad != "" {
		return say.Usage("write the names of the settings in the first row and what they are in the second", "%s is not a ticket of two rows", name)
	}
	columns, err := columnsOf(name, intake.Line{Cells: append(slices.Clone(lines[0].Cells), "photo")})
	if slices.ContainsFunc(lines[0].Cells, func(c string) bool { return columnName(c) == "photo" }) {
		columns, err = columnsOf(name, lines[0])
	}
	if err != nil {
		return err
	}
	for i, cell := range lines[1].Cells {
		if i < len(columns) && columns[i] != "" && cell != "" {
			said[columns[i]] = cell
		}
	}
	return nil
}

func readJSONTicket(ticket string, data []byte, said map[string]string) error {
	const try = `write it like {"size": "30x40cm", "colors": 24}`
	var object map[string]any
	if err := json.Unmarshal(data, &object); err != nil {
		return say.Usage(try, "%s is not a JSON object: %w", ticket, errors.New(strings.TrimPrefix(err.Error(), "json: ")))
	}
	if _, err := columnsOf(ticket, intake.Line{Cells: append(slices.DeleteFunc(sortedKeys(object), func(s string) bool { return columnName(s) == "photo" }), "photo")}); err != nil {
		return err
	}
	for name, v := range object {
		key := columnName(name)
		switch v := v.(type) {
		case string:
			said[key] = v
		case float64:
			said[key] = strconv.FormatFloat(v, 'f', -1, 64)
		case bool:
			said[key] = strconv.FormatBool(v)
		default:
			return say.Usage(try, "%s: %s is neither a text nor a number", ticket, name)
		}
	}
	return nil
}
