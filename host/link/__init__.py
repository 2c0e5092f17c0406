"""The laptop's end of the line protocol: ports, frames and the one client."""
