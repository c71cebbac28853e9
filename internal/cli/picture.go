package cli

import (
	"context"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/house"
)

func (r *root) pictureCommands() *cobra.Command {
	return r.group("picture", "Pictures of lots, pieces and designs: add, list, write, remove", r.pictureAdd,
		r.pictureList, r.pictureWrite, r.pictureRemove)
}

func (r *root) pictureAdd() *cobra.Command {
	var req desk.PictureAdd
	var view string
	c := verb("add [LOT|LINE/DESIGN] FILE ...", "Keep pictures, upright and without what the camera wrote into them",
		`  lotpaper picture add P1-3 face.jpg
  lotpaper picture add Sea/Ring ring.png
  lotpaper picture add --view 10x P1-3.jpg P1-4.jpg J7.jpg      each of the lot that it is named like
  lotpaper picture add --view logo logo.png                      stands on letters from then on

JPEG and PNG. Each is kept in two sizes; place, telephone and camera are left out.
`, cobra.MinimumNArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
			req.View, req.Of = book.View(view), ""
			if len(args) > 1 && !isPicture(args[0]) {
				req.Of, args = args[0], args[1:]
			}
			for _, path := range args {
				in, err := r.input(path, "")
				if err != nil {
					return err
				}
				defer in.Close()
				req.Files = append(req.Files, in.Input)
			}
			done, err := a.Desk.PictureAdd(ctx, req)
			if err != nil {
				return err
			}
			return r.wroteBook("picture", &done)
		}))
	c.Flags().StringVar(&view, "view", string(book.FaceView), "what they show: face, side, 10x, report, or logo: the "+
		"house's own")
	return r.writes(c)
}

// isPicture reports whether an argument is named like the file of a picture.
func isPicture(path string) bool {
	return slices.Contains([]string{".jpg", ".jpeg", ".png"}, strings.ToLower(filepath.Ext(path)))
}

func (r *root) pictureList() *cobra.Command {
	var req desk.PictureList
	var out output
	c := verb("list [LOT|LINE/DESIGN]", "List the pictures that the book keeps", "", cobra.MaximumNArgs(1),
		r.reading(func(ctx context.Context, a *house.House, args []string) error {
			if len(args) > 0 {
				req.Of = args[0]
			}
			pictures, err := a.Desk.PictureList(ctx, req)
			if err != nil {
				return err
			}
			return r.list("picture", &pictures, out)
		}))
	c.Flags().BoolVar(&req.All, "all", false, "also those that were removed")
	out.ofList(c)
	return c
}

func (r *root) pictureWrite() *cobra.Command {
	var req desk.PictureFile
	var out output
	c := verb("write PICTURE", "Write a picture as the book keeps it, a JPEG file",
		`  lotpaper picture write PIC3 -o face.jpg
`, cobra.ExactArgs(1), r.reading(func(ctx context.Context, a *house.House, args []string) error {
			req.Number = args[0]
			file, err := a.Desk.PictureFile(ctx, req)
			if err != nil {
				return err
			}
			if out.path == "" {
				out.path = file.Picture.Number + ".jpg"
			}
			return r.writeBytes(file.Bytes, out)
		}))
	out.flags(c, "")
	return c
}

func (r *root) pictureRemove() *cobra.Command {
	var req desk.PictureRemove
	c := verb("remove PICTURE", "Take a picture out of the book", `  lotpaper picture remove PIC3 --reason "blurred"

The entry stays and says so; the picture itself goes, unless an issued paper or
another picture holds the same. Backups that were made before still have it.
`, cobra.ExactArgs(1), r.writing(&req.Write, func(ctx context.Context, a *house.House, args []string) error {
		req.Number = args[0]
		done, err := a.Desk.PictureRemove(ctx, req)
		if err != nil {
			return err
		}
		return r.wroteBook("picture", &done)
	}))
	return r.writes(c)
}
