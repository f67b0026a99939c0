"""Activity, speciation, carbonate system, minerals and indexes: arrays in, arrays out."""
