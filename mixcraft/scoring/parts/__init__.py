"""The part scores, a file each: a module here with a `PART` (`mixcraft.scoring.registry.Part`) and `weight_<its name>` among the
constants is in the score."""
