"""Sizing and rating of the pretreatment train: plain numbers in, plain numbers out."""
