"""The product made fit for pipes: calcite, a blend, alkali for what is left."""
