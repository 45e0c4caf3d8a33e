package trail

import "slices"

// inFrame is the path in another local plane; slices that say nothing of places are shared.
func (p *Path) inFrame(f Frame) *Path {
	if p.Frame == f {
		return p
	}
	out := *p
	out.Frame = f
	out.EastM, out.NorthM = make([]float64, len(p.EastM)), make([]float64, len(p.EastM))
	for i := range p.EastM {
		lat, lon := p.Frame.ToDegrees(p.EastM[i], p.NorthM[i])
		out.EastM[i], out.NorthM[i] = f.ToPlane(lat, lon)
	}
	out.Fixes = slices.Clone(p.Fixes)
	for i := range out.Fixes {
		lat, lon := p.Frame.ToDegrees(p.Fixes[i].EastM, p.Fixes[i].NorthM)
		out.Fixes[i].EastM, out.Fixes[i].NorthM = f.ToPlane(lat, lon)
	}
	return &out
}
