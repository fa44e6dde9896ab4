"""Wind on the water: fetch, waves, limits, hour levels, alerts, windows, notes and cautions."""
