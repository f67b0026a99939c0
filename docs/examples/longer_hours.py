"""The interval of an installed softener against the hours that the machine runs."""

from pretreat import rate

site = rate("water_analyses/quarrow_vale_installed.toml", draws=0)
print(site.worked("softener.interval_d"))

for hours in (8, 12, 16, 20):
    changed = site.again({"machine.hours_per_day": hours})
    print(f"{hours:2d} h/d: regenerate after {changed['softener.interval_d'].value:.2f} d")
