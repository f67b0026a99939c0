"""How far recovery may go for a water as it is, and with an inhibitor."""

from pretreat import read_analysis, scaling

water = read_analysis("water_analyses/drover_flat.csv")
study = scaling(water, recovery=0.55, draws=0)

for key in ("recovery.max", "recovery.max_inhibited"):
    print(f"{study[key].label}: {study[key].value:.2f}")
print("stopped by:", study["recovery.limited_by"].value)
for flag in study.flags_of("warning"):
    print("warning:", flag.text)
