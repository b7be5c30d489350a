"""Materials, cutters, machines, drill sizes and gauges: data with sources, and the loader that checks it."""
