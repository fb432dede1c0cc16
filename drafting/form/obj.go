package form

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// Read reads the form of a body: its closed mesh from an OBJ file in mm, and its landmarks from
// JSON: {"landmarks_mm": {"nape": [x, y, z], ...}}. The errors are those of [ReadOBJ] and [New] too.
func Read(ctx context.Context, mesh, landmarks io.Reader) (*Form, error) {
	points, triangles, err := ReadOBJ(mesh)
	if err != nil {
		return nil, err
	}
	var about struct {
		Landmarks map[Landmark][3]float64 `json:"landmarks_mm"`
	}
	if err := json.NewDecoder(landmarks).Decode(&about); err != nil {
		return nil, fmt.Errorf("the file of landmarks: %w", err)
	}
	at := map[Landmark]r3.Vec{}
	for name, p := range about.Landmarks {
		at[name] = r3.Vec{X: p[0], Y: p[1], Z: p[2]}
	}
	return New(ctx, points, triangles, at)
}

// ReadOBJ reads the points and faces of a Wavefront OBJ file. Faces of more than
// three corners are divided into triangles. Points that no face uses are left
// out, and so is all that is not geometry. Points at one place count as one.
func ReadOBJ(r io.Reader) (points []r3.Vec, triangles [][3]int, err error) {
	var all []r3.Vec
	same := map[r3.Vec]int{}
	number := []int{} // of each point of the file
	lines := bufio.NewScanner(r)
	for n := 1; lines.Scan(); n++ {
		words := strings.Fields(lines.Text())
		if len(words) == 0 {
			continue
		}
		switch words[0] {
		case "v":
			p, err := objPoint(words[1:])
			if err != nil {
				return nil, nil, fmt.Errorf("line %d: %w", n, err)
			}
			at, known := same[p]
			if !known {
				at = len(all)
				same[p] = at
				all = append(all, p)
			}
			if number = append(number, at); len(number) > maxPoints {
				return nil, nil, fmt.Errorf("more than %d points", maxPoints)
			}
		case "f":
			face, err := objFace(words[1:], number)
			if err != nil {
				return nil, nil, fmt.Errorf("line %d: %w", n, err)
			}
			for i := 2; i < len(face); i++ {
				if t := [3]int{face[0], face[i-1], face[i]}; t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
					triangles = append(triangles, t)
				}
			}
			if len(triangles) > maxTriangles {
				return nil, nil, fmt.Errorf("more than %d triangles", maxTriangles)
			}
		}
	}
	if err := lines.Err(); err != nil {
		return nil, nil, err
	}
	points, triangles = used(all, triangles)
	return points, triangles, nil
}

func objPoint(words []string) (r3.Vec, error) {
	if len(words) < 3 {
		return r3.Vec{}, errors.New("a point needs three numbers")
	}
	var c [3]float64
	for i := range c {
		v, err := strconv.ParseFloat(words[i], 64)
		if err != nil {
			return r3.Vec{}, fmt.Errorf("%q is not a number", words[i])
		}
		c[i] = v
	}
	return r3.Vec{X: c[0], Y: c[1], Z: c[2]}, nil
}

func objFace(words []string, number []int) ([]int, error) {
	if len(words) < 3 {
		return nil, errors.New("a face needs three points")
	}
	face := make([]int, len(words))
	for i, w := range words {
		first, _, _ := strings.Cut(w, "/")
		v, err := strconv.Atoi(first)
		if v < 0 {
			v += len(number) + 1
		}
		if err != nil || v < 1 || v > len(number) {
			return nil, fmt.Errorf("no point %q; there are %d", first, len(number))
		}
		face[i] = number[v-1]
	}
	return face, nil
}

// used returns the points that triangles use, and the triangles with the new
// numbers.
func used(points []r3.Vec, triangles [][3]int) ([]r3.Vec, [][3]int) {
	number := make([]int, len(points))
	var kept []r3.Vec
	for i, t := range triangles {
		for k, p := range t {
			if number[p] == 0 {
				kept = append(kept, points[p])
				number[p] = len(kept)
			}
			triangles[i][k] = number[p] - 1
		}
	}
	return kept, triangles
}
