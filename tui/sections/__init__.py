"""The sections of a job in walking order, and the form that shows one."""
