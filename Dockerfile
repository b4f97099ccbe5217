# Ropewalk as a container image: the program, and PostgreSQL's programs beside it
# for backups and for the private database.
#   docker build -t ropewalk .
# POSTGRES_IMAGE must be of the database server's major version or newer, since
# backups are made with its pg_dump.
ARG GO_IMAGE=golang:1.26-bookworm
ARG POSTGRES_IMAGE=postgres:17-bookworm

FROM ${GO_IMAGE} AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=0 go build -trimpath -ldflags='-s -w' -o /ropewalk ./cmd/ropewalk

FROM ${POSTGRES_IMAGE}
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/ca-certificates.crt
COPY --from=build /ropewalk /usr/local/bin/ropewalk
RUN install -d -o postgres -g postgres -m 700 /data /data/backups
USER postgres
WORKDIR /data
ENV ROPEWALK_DATA=/data ROPEWALK_LISTEN=0.0.0.0
VOLUME /data
EXPOSE 8080 8443
STOPSIGNAL SIGTERM
HEALTHCHECK --interval=15s --timeout=5s --start-period=60s --retries=3 CMD ["ropewalk", "health"]
ENTRYPOINT ["ropewalk"]
CMD ["serve"]
