"""An invented coach's folder, made by a seeded generator: what we show, and what we hold the pipeline to."""
