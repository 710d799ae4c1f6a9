package ladder

import (
	"fmt"
	"image/color"
	"io"
	"math"

	"git.sr.ht/~sbinet/gg"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
)

// PNG writes the drawing as a picture, scale pixels to a CSS pixel.
func (d *Drawing) PNG(w io.Writer, look Look, scale float64) error {
	if look == Page {
		look = Light // there is no page
	}
	s := d.sheet(picture(), rung)
	c := gg.NewContext(int(math.Ceil(s.w*scale)), int(math.Ceil(s.h*scale)))
	c.Scale(scale, scale)
	c.SetLineCapRound()
	c.SetLineJoinRound()
	faces, err := newFaces(scale)
	if err != nil {
		return err
	}
	p := &painter{&raster{c, faces, scale}, look.theme(), picture()}
	p.rect(area{0, 0, s.w, s.h}, 0, ink{fill: p.theme["paper"]})
	p.sheet(s)
	return c.EncodePNG(w)
}

// raster is a canvas of pixels.
type raster struct {
	*gg.Context

	faces *faces
	scale float64
}

// faces are the Go fonts, plain and bold.
type faces struct {
	plain, bold *opentype.Font
	scale       float64
}

func newFaces(scale float64) (*faces, error) {
	plain, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return nil, fmt.Errorf("reading the plain face: %w", err)
	}
	bold, err := opentype.Parse(gobold.TTF)
	if err != nil {
		return nil, fmt.Errorf("reading the bold face: %w", err)
	}
	return &faces{plain, bold, scale}, nil
}

func (r *raster) ink(i ink) {
	if i.fill != "" {
		r.SetColor(rgb(i.fill))
		if i.line == "" {
			r.Fill()
			return
		}
		r.FillPreserve()
	}
	r.SetColor(rgb(i.line))
	r.SetLineWidth(i.width * r.scale)
	r.SetDash()
	if i.dash > 0 {
		r.SetDash(i.dash*r.scale, i.dash*r.scale)
	}
	r.Stroke()
}

func (r *raster) paths(of [][]spot, i ink) {
	for _, path := range of {
		for j, at := range path {
			if j == 0 {
				r.MoveTo(at.x, at.y)
			} else {
				r.LineTo(at.x, at.y)
			}
		}
		if i.fill != "" {
			r.ClosePath()
		}
	}
	r.ink(i)
}

func (r *raster) circle(at spot, radius float64, i ink) {
	r.DrawCircle(at.x, at.y, radius)
	r.ink(i)
}

func (r *raster) rect(a area, round float64, i ink) {
	if round > 0 {
		r.DrawRoundedRectangle(a.x0, a.y0, a.width(), a.height(), round)
	} else {
		r.DrawRectangle(a.x0, a.y0, a.width(), a.height())
	}
	r.ink(i)
}

func (r *raster) words(text string, at spot, to align, f font) {
	face := r.faces.plain
	if f.bold {
		face = r.faces.bold
	}
	sized, err := opentype.NewFace(face, &opentype.FaceOptions{Size: f.size * r.scale, DPI: 72})
	if err != nil {
		return // only a font of another kind than ours
	}
	r.SetFontFace(sized)
	r.SetColor(rgb(f.colour))
	width, _ := r.MeasureString(text)
	r.Push()
	r.Identity() // a face is of its size in pixels
	r.DrawString(text, at.x*r.scale-width*float64(to)/2, at.y*r.scale)
	r.Pop()
}

func (r *raster) part(string) {}

func (r *raster) done() {}

// rgb reads a colour of a theme.
func rgb(hex string) color.Color {
	c := color.NRGBA{A: 255}
	_, _ = fmt.Sscanf(hex, "#%02x%02x%02x", &c.R, &c.G, &c.B) // a theme's own are well formed
	return c
}
