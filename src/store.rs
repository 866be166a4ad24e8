//! Cars on disk. The only place that touches data files.
