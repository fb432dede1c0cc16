package drape

import "gonum.org/v1/gonum/spatial/r3"

// Weld makes one point of each pair, as a seam does, in the middle of all points
// that become one. It removes points that no triangle uses any more, and returns
// the new number of each point, -1 for those removed.
func (m *Mesh) Weld(pairs [][2]int) []int {
	root := make([]int, len(m.Points))
	for i := range root {
		root[i] = i
	}
	find := func(i int) int {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for _, p := range pairs {
		a, b := find(p[0]), find(p[1])
		root[max(a, b)] = min(a, b)
	}
	place := make([]int, len(m.Points)) // new index of each point, or -1
	next := Mesh{Triangles: m.Triangles, Cloths: m.Cloths, Half: m.Half}
	for i := range place {
		place[i] = -1
	}
	for t := range m.Triangles {
		for _, p := range m.Triangles[t].Points {
			place[find(p)] = 0
		}
	}
	for i, used := range place {
		if used < 0 {
			continue
		}
		place[i] = len(next.Points)
		next.Points = append(next.Points, r3.Vec{})
		next.Pinned = append(next.Pinned, false)
		next.OnPlane = append(next.OnPlane, false)
		next.Hung = append(next.Hung, false)
	}
	count := make([]float64, len(next.Points))
	for i := range root {
		to := place[find(i)]
		if place[i] = to; to < 0 {
			continue
		}
		next.Points[to] = r3.Add(next.Points[to], m.Points[i])
		count[to]++
		next.Pinned[to] = next.Pinned[to] || m.Pinned != nil && m.Pinned[i]
		next.OnPlane[to] = next.OnPlane[to] || m.OnPlane != nil && m.OnPlane[i]
		next.Hung[to] = next.Hung[to] || m.Hung != nil && m.Hung[i]
	}
	for t := range m.Triangles {
		for k, p := range m.Triangles[t].Points {
			next.Triangles[t].Points[k] = place[p]
		}
	}
	for i, n := range count {
		next.Points[i] = r3.Scale(1/n, next.Points[i])
	}
	*m = next
	return place
}
