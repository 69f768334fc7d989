"""Styles of a next setting alone: bigger dials, the size bar, the keys of the maps."""

STYLE = """
<style>
.card.next .dials b { font-size: 3rem; }
@media (max-width: 640px) {
  .card.next .dials { gap: .4rem; }
  .card.next .dials b { font-size: 1.95rem; } .card.next .dials b i { display: block; }
}
.card .chance { font-size: 1.1rem; margin-top: .5rem; }
.size { position: relative; height: 4.6rem; margin: .4rem 0 .2rem; font-size: .86rem;
        font-variant-numeric: tabular-nums; white-space: nowrap; }
.size * { position: absolute; }
.size .line { left: 0; right: 0; top: 2.05rem; border-top: 2px solid var(--line); }
.size .range { top: 1.55rem; height: 1rem; background: var(--accent); }
.size .short { top: 1.55rem; height: 1rem; background: repeating-linear-gradient(135deg,
        var(--bad) 0 3px, #fff 3px 7px); border: 1px solid var(--bad); box-sizing: border-box; }
.size .mid { top: 1.65rem; width: .8rem; height: .8rem; margin-left: -.4rem; background: #fff;
        border: 3px solid var(--ink); transform: rotate(45deg); box-sizing: border-box; }
.size .least { top: 1.35rem; height: 1.75rem; margin-left: -1.5px;
        border-left: 3px dashed var(--bad); }
.size .low, .size .high { top: .2rem; font-weight: 650; }
.size .low { transform: translateX(-100%); }
.size .name { top: 3.15rem; transform: translateX(-50%); color: var(--bad); font-weight: 650; }
.key { display: grid; grid-template-columns: auto repeat(5, 1fr); gap: 2px .15rem;
        font-size: .8rem; color: #1b2430; max-width: 40rem; line-height: 1.25; }
.key i { height: 1.2rem; border: 1px solid #8d8674; }
.key b { font-weight: 650; padding-right: .4rem; } .key span { text-align: center; }
.marks { display: flex; flex-wrap: wrap; gap: .1rem 1rem; font-size: .86rem; color: #1b2430; }
.marks b { font-size: 1.05rem; }
</style>
"""
