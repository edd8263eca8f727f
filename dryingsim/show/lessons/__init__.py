"""Pictures of lessons: what a notebook draws, without one."""
