"""The front hall: settings, addresses, pages, API, jobs, and what spans both wings."""
