"""Installing packs of drills, and taking them away. Nothing of a pack is executed, and nothing is fetched."""
