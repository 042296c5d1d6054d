"""What deploy/start and deploy/test do before anything is installed: standard library only."""
