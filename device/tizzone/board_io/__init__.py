"""Everything that drives or senses a pin, but probes and panel: heat, contacts, buzzer and lamp."""
