"""A physical simulation of tooth photos with their truth, and the studies made with it."""
